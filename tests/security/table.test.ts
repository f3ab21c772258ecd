/** The table of docs/security.md: no row without an answer, no row that is met without a test that is there. */
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
const rows = readFileSync(`${root}docs/security.md`, 'utf8')
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
