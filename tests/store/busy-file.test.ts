import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { ProblemError } from '../../api/problem.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import type { Store } from '../../api/store/store.ts';

let folder: string;
let store: Store;
let other: Database.Database;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runtrue-busy-'));
  store = openSqliteStore(join(folder, 'plant.sqlite'));
  other = new Database(join(folder, 'plant.sqlite'));
});
afterEach(async () => {
  other.close();
  await store.close();
  rmSync(folder, { recursive: true });
});

const note = { at: 0, personId: null, what: 'tried', about: '', detail: '' };
const write = () => store.transaction((transaction) => transaction.addNote(note));
const notes = () => store.sql.all('select 1 as one from audit_notes');

/** Turns of the event loop while something runs. */
async function turnsDuring(work: Promise<unknown>): Promise<number> {
  let turns = 0;
  const counting = setInterval(() => {
    turns += 1;
  }, 5);
  await work.catch(() => {});
  clearInterval(counting);
  return turns;
}

it('waits for another program that holds the file, and holds up nobody meanwhile', async () => {
  other.exec('begin immediate');
  const writing = write();
  const turns = turnsDuring(writing);
  await wait(300);
  expect(await notes()).toEqual([]);
  other.exec('rollback');
  await writing;
  expect(await turns).toBeGreaterThan(10);
  expect(await notes()).toHaveLength(1);
});

it('says so where that program does not let go, and goes on when it has', async () => {
  other.exec('begin immediate');
  const writing = write();
  expect(await turnsDuring(writing)).toBeGreaterThan(10);
  const error = await writing.catch((thrown: unknown) => thrown);
  expect(error).toBeInstanceOf(ProblemError);
  expect((error as ProblemError).problem).toMatchObject({ status: 503, title: 'Not stored' });
  expect((error as ProblemError).problem.detail).toContain('SQLITE_BUSY');
  other.exec('rollback');
  await write();
  expect(await notes()).toHaveLength(1);
});
