import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { verifyChain } from '../../api/audit/verify-chain.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { NO_STREAM, type Store, type StoreTransaction } from '../../api/store/store.ts';

let folder: string;
let store: Store;
let other: Database.Database;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runtrue-together-'));
  store = openSqliteStore(join(folder, 'plant.sqlite'));
  other = new Database(join(folder, 'plant.sqlite'));
});
afterEach(async () => {
  other.close();
  await store.close();
  rmSync(folder, { recursive: true });
});

const note = (about: number) => ({ at: 0, personId: null, what: 'tried', about: `${about}`, detail: '' });
const write = (about: number, then: (transaction: StoreTransaction) => Promise<unknown> = async () => {}) =>
  store.transaction(
    async (transaction) => {
      await transaction.addNote(note(about));
      await then(transaction);
      return about;
    },
    [NO_STREAM],
  );
const stored = () =>
  other
    .prepare('select cast(about as integer) as about from audit_notes order by no')
    .all()
    .map((row) => (row as { about: number }).about);

/** A row that refers to nothing, noticed by the commit and not before. */
const breakCommit = async ({ sql }: StoreTransaction): Promise<void> => {
  await sql.run('pragma defer_foreign_keys = on');
  await sql.run('insert into event_ends (event_no, until, person_id, recorded_at) values (99, 1, ?, 1)', 'p');
};

it('commits together what waits, each with its own result', async () => {
  const seen: number[][] = [];
  const results = await Promise.all(
    Array.from({ length: 10 }, (_, index) => write(index, async () => seen.push(stored()))),
  );
  expect(results).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
  expect(stored()).toEqual(results);
  // Nobody outside saw any of it while the last one was still at work.
  expect(seen).toEqual(Array(10).fill([]));
});

it('takes in who comes while another one is at work', async () => {
  let second: Promise<number> | undefined;
  let seen: number[] = [];
  await write(1, async () => {
    second = write(2, async () => {
      seen = stored();
    });
  });
  expect(seen).toEqual([]);
  expect(await second).toBe(2);
});

it('undoes what fails by itself, and keeps the others', async () => {
  for (const failing of [0, 2, 4]) {
    const before = stored();
    const results = await Promise.allSettled(
      [0, 1, 2, 3, 4].map((index) =>
        write(index, async () => {
          if (index === failing) throw new Error(`number ${index} fails`);
        }),
      ),
    );
    expect(results.map(({ status }) => status === 'fulfilled')).toEqual(
      [0, 1, 2, 3, 4].map((index) => index !== failing),
    );
    expect(results[failing]).toMatchObject({ reason: { message: `number ${failing} fails` } });
    expect(stored()).toEqual([...before, ...[0, 1, 2, 3, 4].filter((index) => index !== failing)]);
  }
  expect((await verifyChain(store.sql)).findings).toEqual([]);
});

it('answers none of them where the commit fails', async () => {
  const results = await Promise.allSettled([
    write(1),
    write(2, breakCommit),
    write(3),
    store.transaction(async (transaction) => transaction.addNote(note(4))),
  ]);
  expect(results.map(({ status }) => status)).toEqual(['rejected', 'rejected', 'rejected', 'fulfilled']);
  expect(stored()).toEqual([4]);
  await write(5);
  expect(stored()).toEqual([4, 5]);
  expect((await verifyChain(store.sql)).findings).toEqual([]);
});

it('commits by itself what may change the plant or is long', async () => {
  const seen: number[][] = [];
  const alone = (about: number, streams?: readonly string[]) =>
    store.transaction(async (transaction) => {
      seen.push(stored());
      await transaction.addNote(note(about));
    }, streams);
  await Promise.all([write(1), alone(2), alone(3, [NO_STREAM, 'a']), write(4)]);
  expect(seen).toEqual([[1], [1, 2]]);
  expect(stored()).toEqual([1, 2, 3, 4]);
});
