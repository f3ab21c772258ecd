/** The built server as a process: what it refuses to start with, and what it says where it can be reached from elsewhere. */
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-start-'));
afterAll(() => rmSync(folder, { recursive: true }));

const program = (name: string): string =>
  fileURLToPath(new URL(`../../dist/server/${name}.js`, import.meta.url));

/** Starts a program and gives what it printed, until it ends or has said all that `until` waits for. */
function printedBy(name: string, environment: Record<string, string>, until = /$^/) {
  const child = spawn(process.execPath, [program(name)], {
    env: { ...process.env, PORT: '0', DATA_DIR: mkdtempSync(join(folder, 'data-')), ...environment },
  });
  return new Promise<{ code: number | null; printed: string }>((done) => {
    let printed = '';
    for (const output of [child.stdout, child.stderr])
      output.on('data', (chunk) => {
        printed += chunk;
        if (until.test(printed)) child.kill('SIGTERM');
      });
    child.once('exit', (code) => done({ code, printed: printed.trim() }));
  });
}

describe.concurrent('a server that would be open to others', () => {
  it.each([
    [
      'demo',
      { HOST: '0.0.0.0' },
      /^The demo plant has no sign-in, which is possible only on this machine itself/,
    ],
    ['main', { HOST: '0.0.0.0', SIGN_IN: 'off' }, /^SIGN_IN=off is possible only on this machine itself/],
    [
      'main',
      { PUBLIC_URL: 'https://runtrue.example', SIGN_IN: 'off' },
      /^SIGN_IN=off is .* not on runtrue\.example/,
    ],
    ['main', { TRUSTED_PROXIES: 'all' }, /^TRUSTED_PROXIES must list IP addresses/],
  ])('%s with %j does not start, and says why in one sentence', async (name, environment, sentence) => {
    const { code, printed } = await printedBy(name, environment);
    expect(printed).toMatch(sentence);
    expect(printed.split('\n')).toHaveLength(1);
    expect(code).toBe(1);
  });

  it('listens on this machine only unless told otherwise', async () => {
    const { printed, code } = await printedBy('main', {}, /works once:\n.*\n/);
    expect(printed).toMatch(/^Runtrue is at http:\/\/127\.0\.0\.1:\d+\/ /);
    expect(printed).not.toContain('TLS');
    expect(code).toBe(0);
  });

  it('says that it needs TLS where it is told otherwise, and nothing of it where it has', async () => {
    const without = await printedBy('main', { HOST: '0.0.0.0' }, /works once:\n.*\n/);
    expect(without.printed).toContain('without TLS: passwords travel in the clear');
    const environment = { HOST: '0.0.0.0', PUBLIC_URL: 'https://runtrue.example' };
    const { printed } = await printedBy('main', environment, /works once:\n.*\n/);
    expect(printed).not.toContain('without TLS');
    expect(printed).toMatch(/\nhttps:\/\/runtrue\.example\/sign-in#first=[\w-]{43}$/);
  });
});
