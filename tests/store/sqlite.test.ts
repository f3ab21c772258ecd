import { rmSync } from 'node:fs';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { morning, openTestPlant, refusal, type TestPlant, take } from '../api/test-plant.ts';
import { conforms } from './conformance.ts';
import { databasesOf } from './engines.ts';

const newDatabase = await databasesOf('sqlite');

const databaseOf = (store: unknown) => (store as { sql: { database: Database.Database } }).sql.database;
const pageLimit = (store: TestPlant['store'], pages: number): Promise<void> =>
  store.transaction(async (transaction) => {
    databaseOf(transaction).pragma(`max_page_count = ${pages}`);
  });

describe('a store in SQLite', () => {
  conforms({
    newDatabase,
    // The disk is full.
    refusing: async () => ({
      database: newDatabase(),
      refuse: (store) => pageLimit(store, 1),
      allow: (store) => pageLimit(store, 1_000_000),
    }),
  });
});

describe('a database in a file', () => {
  let plant: TestPlant;
  beforeEach(async () => {
    plant = await openTestPlant(newDatabase());
  });
  afterEach(() => plant.close());

  it('survives a power cut after each commit: write-ahead log, flushed at every commit', async () => {
    await plant.store.transaction(async (store) => {
      const database = databaseOf(store);
      expect(database.pragma('journal_mode', { simple: true })).toBe('wal');
      // 2 is FULL.
      expect(database.pragma('synchronous', { simple: true })).toBe(2);
    });
  });

  it('newer than the program is refused', async () => {
    await plant.store.close();
    const database = new Database(plant.file);
    database.pragma('user_version = 999');
    database.close();
    expect(() => openSqliteStore(plant.file)).toThrow(/schema 999.*newer/);
    rmSync(plant.file);
    await plant.reopen();
  });

  it('tells a second writer that holds it from a refusal of the sample', async () => {
    const other = new Database(plant.file);
    other.exec('begin immediate');
    const detail = await refusal(take(plant, 127, morning), 503, undefined);
    expect(detail).toMatch(/nothing was stored/);
    other.exec('rollback');
    other.close();
    await take(plant, 127, morning);
    expect(await plant.store.sampleCount()).toBe(1);
  });
});
