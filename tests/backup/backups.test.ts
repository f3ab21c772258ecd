/** Backups for the API: one at a time, each by a process of its own, and words where that fails. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { createBackups } from '../../api/backup/backups.ts';
import { ProblemError } from '../../api/problem.ts';

const root = mkdtempSync(join(tmpdir(), 'runtrue-backups-'));
afterAll(() => rmSync(root, { recursive: true }));

/** With a program in place of the real one; `target` is its last argument. */
function backupsBy(name: string, text: string) {
  const programFile = join(root, `${name}.cjs`);
  writeFileSync(programFile, `const target = process.argv.at(-1); const fs = require('node:fs');\n${text}`);
  const folder = join(root, name);
  return {
    folder,
    backups: createBackups({ programFile, databaseFile: 'plant.sqlite', databaseAddress: undefined, folder }),
  };
}
const good = `fs.writeFileSync(target + '/b.sqlite', process.argv.slice(2, 5).join(' '));
console.log(JSON.stringify({ file: target + '/b.sqlite' }));`;

const refusalOf = async (work: Promise<unknown>): Promise<ProblemError['problem']> => {
  const error = await work.then(
    () => null,
    (thrown: unknown) => thrown,
  );
  expect(error).toBeInstanceOf(ProblemError);
  return (error as ProblemError).problem;
};

it('takes one at a time, and nothing is left when it was sent', async () => {
  const { backups, folder } = backupsBy('good', good);
  const taking = backups.take();
  expect((await refusalOf(backups.take())).status).toBe(409);
  const { file, done } = await taking;
  expect(readFileSync(file, 'utf8')).toBe('--json --file plant.sqlite');
  expect((await refusalOf(backups.take())).status).toBe(409);
  done();
  expect(readdirSync(folder)).toEqual([]);
  const again = await backups.take();
  again.done();
});

it('tells in words why there is none, and the next one is tried', async () => {
  const { backups, folder } = backupsBy(
    'bad',
    `console.error('No backup was taken: the disk is full'); process.exit(1);`,
  );
  for (let attempt = 0; attempt < 2; attempt++) {
    const problem = await refusalOf(backups.take());
    expect(problem.status).toBe(503);
    expect(problem.detail).toBe('No backup was taken: the disk is full. Look at the disk of the server.');
  }
  expect(readdirSync(folder)).toEqual([]);
});

it('throws away what an earlier run left', async () => {
  const { backups, folder } = backupsBy('left', good);
  const { file } = await backups.take();
  expect(existsSync(file)).toBe(true);
  // Killed before it was sent; this is the next start.
  backupsBy('left', good);
  expect(existsSync(folder)).toBe(false);
});
