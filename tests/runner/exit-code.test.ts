/** Whatever else is tested here counts only if a run with a failed test says so to whoever started it. */
import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));

it('a run with a failed test ends with code 1', async () => {
  const vitest = `${root}node_modules/vitest/vitest.mjs`;
  const child = spawn(process.execPath, [vitest, 'run', '--config', 'tests/runner/failing.config.ts'], {
    cwd: root,
    // Without what the run around it tells its own processes.
    env: { PATH: process.env.PATH, HOME: process.env.HOME },
  });
  let printed = '';
  for (const output of [child.stdout, child.stderr])
    output.on('data', (chunk) => {
      printed += chunk;
    });
  const code = await new Promise((done) => child.once('exit', done));
  expect(printed).toContain('1 failed');
  expect(code).toBe(1);
}, 180_000);
