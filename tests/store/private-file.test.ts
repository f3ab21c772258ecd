/** Who may read what the store writes: its owner alone, unless an administrator allowed more. */
import { chmodSync, mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { openSqliteStore } from '../../api/store/sqlite.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-private-'));
afterAll(() => rmSync(folder, { recursive: true }));

const modes = (file: string) =>
  ['', '-wal', '-shm'].map((ending) => (statSync(file + ending).mode & 0o777).toString(8));

it('a new database and its journals are readable by their owner only', async () => {
  const file = join(folder, 'plant.sqlite');
  const store = openSqliteStore(file);
  await store.plantModel();
  expect(modes(file)).toEqual(['600', '600', '600']);
  await store.close();
});

it('a database that is there keeps its mode', async () => {
  const file = join(folder, 'shared.sqlite');
  writeFileSync(file, '');
  chmodSync(file, 0o640);
  const store = openSqliteStore(file);
  await store.plantModel();
  expect(modes(file)).toEqual(['640', '640', '640']);
  await store.close();
});
