/** The table of docs/security.md: no row without an answer, no row that is met without a test that is there. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
const page = readFileSync(`${root}docs/security.md`, 'utf8');
const rows = page
  .split('\n')
  .map((line) => line.split('|').map((cell) => cell.trim()))
  .filter(([, no]) => /^\d+\.\d+\.\d+$/.test(no ?? ''))
  .map(([, no, asks, state, how, tests]) => ({
    no,
    asks,
    state,
    how,
    tests: tests?.match(/tests\/[\w/.-]+/g) ?? [],
  }));

it('has an answer to each row, and each row once', () => {
  expect(rows.length).toBeGreaterThan(200);
  expect(new Set(rows.map(({ no }) => no)).size).toBe(rows.length);
  for (const { no, asks, state, how } of rows) {
    expect(['met', 'partly', 'not met', 'n/a'], no).toContain(state);
    expect(asks, no).not.toBe('');
    expect(how, no).not.toBe('');
  }
});

it('names a test for each row that is met, and each test is there', () => {
  for (const { no, state, tests } of rows) {
    if (state === 'met') expect(tests.length, no).toBeGreaterThan(0);
    for (const file of tests) expect(existsSync(root + file), `${no}: ${file}`).toBe(true);
  }
});

it('says of each setting that leads outwards where it leads', () => {
  const server = readdirSync(`${root}api`, { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.ts'))
    .map((file) => readFileSync(`${root}api/${file}`, 'utf8'))
    .join('\n');
  const outwards = new Set(server.match(/\b[A-Z]+(?:_[A-Z]+)*_(?:URL|ISSUER|ENDPOINT|NETWORKS)\b/g));
  // The address of the server itself.
  outwards.delete('PUBLIC_URL');
  expect([...outwards].sort()).toEqual([
    'DATABASE_URL',
    'MQTT_URL',
    'OIDC_ISSUER',
    'OTEL_EXPORTER_OTLP_ENDPOINT',
    'OTEL_EXPORTER_OTLP_TRACES_ENDPOINT',
    'SMTP_URL',
    'WEBHOOK_NETWORKS',
  ]);
  const told = page.slice(
    page.indexOf('## What the server talks to'),
    page.indexOf('## How secrets are looked after'),
  );
  for (const name of outwards) expect(told, name).toContain(`\`${name}\``);
});

it('says how often each secret is renewed, and how soon a weak component is replaced', () => {
  const part = (heading: string): string => page.split(`## ${heading}\n`)[1]!.split('\n## ')[0]!;
  const renewed = part('How secrets are looked after');
  for (const secret of [
    'passwords',
    'keys of programs',
    'webhooks',
    'provider',
    'SECRETS_KEY_FILE',
    'certificate',
  ])
    expect(renewed).toContain(secret);
  expect(part('Components')).toMatch(/\*\*\d+ days\*\*.*\*\*\d+ days\*\*/s);
});
