/** Whatever else is tested here counts only if a run says to whoever started it whether a test has failed. */
import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));

it.each([
  ['a failed test', 'yes', '1 failed', 1],
  ['none', 'no', '1 passed', 0],
])(
  'a run with %s',
  async (_, FAILS, says, expected) => {
    const vitest = `${root}node_modules/vitest/vitest.mjs`;
    const child = spawn(process.execPath, [vitest, 'run', '--config', 'tests/runner/failing.config.ts'], {
      cwd: root,
      // Without what the run around it tells its own processes.
      env: { PATH: process.env.PATH, HOME: process.env.HOME, FAILS },
    });
    let printed = '';
    for (const output of [child.stdout, child.stderr])
      output.on('data', (chunk) => {
        printed += chunk;
      });
    const code = await new Promise((done) => child.once('exit', done));
    expect(printed).toContain(says);
    expect(code, printed).toBe(expected);
  },
  180_000,
);
