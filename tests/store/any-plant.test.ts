/** Whatever a plant holds: it arrives whole where it is moved, restored, archived and read back. */
import { existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { readArchive, releaseArchive, writeArchive } from '../../api/archive/archive-plant.ts';
import { archivesAway } from '../../api/archive/archives-away.ts';
import { archivedRows } from '../../api/audit/archived-rows.ts';
import { verifyChain } from '../../api/audit/verify-chain.ts';
import { restoreBackup } from '../../api/backup/restore-backup.ts';
import { takeBackup } from '../../api/backup/take-backup.ts';
import { movePlant } from '../../api/move/move-plant.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { SqliteSql } from '../../api/store/sqlite-sql.ts';
import type { Store } from '../../api/store/store.ts';
import { emptyDatabase } from '../postgres/databases.ts';
import { type AnyPlant, anyPlant, contentOf, monthly, storePlant } from './any-plant.ts';

// In memory, where the machine offers that: many small files, each waiting for the disk again and again.
const root = mkdtempSync(join(existsSync('/dev/shm') ? '/dev/shm' : tmpdir(), 'runtrue-any-plant-'));
afterAll(() => rmSync(root, { recursive: true }));
const address = await emptyDatabase();
let count = 0;
const now = Date.parse('2026-01-01T00:00:00Z');
/** A restore signs everybody out. */
const SIGNED_OUT = ['sessions', 'one_time_tokens'];
/** Taking out and reading back are noted. */
const NOTED = ['audit_notes', 'audit_entries'];

/** The chain agrees with the records; gives its ends. */
async function verified(sql: Store['sql'], archived?: ReadonlyMap<string, Buffer>) {
  const { findings, heads } = await verifyChain(sql, archived === undefined ? {} : { archived });
  expect(findings).toEqual([]);
  return heads;
}

async function inFile<T>(file: string, work: (sql: SqliteSql) => Promise<T>): Promise<T> {
  const database = new Database(file, { readonly: true });
  try {
    return await work(new SqliteSql(database));
  } finally {
    database.close();
  }
}

/** Moves a plant from its file to a place of its own in PostgreSQL. */
async function moved(plant: AnyPlant) {
  const folder = join(root, String(count++));
  mkdirSync(folder);
  const file = join(folder, 'plant.sqlite');
  await storePlant(file, plant);
  const to = { address, plant: count };
  await movePlant(file, to);
  const store = await openPostgresStore(to);
  return { folder, file, to, store };
}

/** Each draw is stored six times over; PROPERTY_RUNS=200 for a night. */
const times = { numRuns: Number(process.env.PROPERTY_RUNS ?? 3) };
const PATIENCE = 3_600_000;

describe('any plant', () => {
  it(
    'is the same in PostgreSQL, and after a backup and a restore of each',
    async () => {
      await fc.assert(
        fc.asyncProperty(anyPlant, async (plant) => {
          const { folder, file, to, store } = await moved(plant);
          try {
            const content = await inFile(file, contentOf);
            const heads = await inFile(file, verified);
            expect(await contentOf(store.sql)).toEqual(content);
            expect(await verified(store.sql)).toEqual(heads);
            for (const [name, column] of [
              ['samples', 'no'],
              ['signals', 'id'],
              ['alarms', 'id'],
              ['deliveries', 'no'],
            ]) {
              const next = await store.sql.one<{ isFree: number }>(
                `select nextval(pg_get_serial_sequence('${name}', '${column}')) > coalesce(max(${column}), 0) as "isFree" from ${name}`,
              );
              expect(next?.isFree, name).toBe(1);
            }
            for (const [engine, databaseAddress] of [
              ['postgres', `${to.address}?plant=${to.plant}`],
              ['sqlite', undefined],
            ] as const) {
              const taken = await takeBackup({ databaseAddress, file }, join(folder, engine), now);
              const restored = join(folder, `restored-${engine}`);
              await restoreBackup(taken.file, restored, 'plant.sqlite');
              const goesOn = openSqliteStore(join(restored, 'plant.sqlite'));
              expect(await contentOf(goesOn.sql, SIGNED_OUT)).toEqual(
                Object.fromEntries(Object.entries(content).filter(([name]) => !SIGNED_OUT.includes(name))),
              );
              expect(await verified(goesOn.sql)).toEqual(heads);
              await goesOn.close();
            }
          } finally {
            await store.close();
          }
        }),
        times,
      );
    },
    PATIENCE,
  );

  it(
    'comes back from an archive as it was',
    async () => {
      await fc.assert(
        fc.asyncProperty(
          anyPlant,
          fc.constantFrom('1970-01-01T00:00:00Z', '2025-09-01T00:00:00Z', '9999-12-31T23:59:59.999Z'),
          async (plant, day) => {
            const { folder, file, to, store } = await moved(plant);
            try {
              const content = await contentOf(store.sql, NOTED);
              const before = Date.parse(day);
              const archive = join(folder, 'archive');
              await writeArchive(store.sql, { folder: archive, before, plant: to.plant, now });
              // A file gives the same archive.
              const copy = join(folder, 'copy');
              const source = openSqliteStore(file);
              const files = await writeArchive(source.sql, { folder: copy, before, plant: to.plant, now });
              await readArchive(source, archive, null, { now });
              expect(await contentOf(source.sql, NOTED)).toEqual(content);
              await source.close();

              await releaseArchive(store, to.plant, archive, { now });
              const left = await contentOf(store.sql, NOTED);
              const rows = (name: string) =>
                files.reduce((sum, one) => sum + (one.table === name ? one.rows : 0), 0);
              for (const name of Object.keys(monthly)) {
                expect(left[name]!.length + rows(name), name).toBe(content[name]!.length);
                const time = `select count(*) as count from ${name} where ${monthly[name]} < ?`;
                const monthBegin = Date.UTC(
                  new Date(before).getUTCFullYear(),
                  new Date(before).getUTCMonth(),
                );
                expect((await store.sql.one<{ count: number }>(time, monthBegin))?.count, name).toBe(0);
              }
              await verified(store.sql, await archivedRows(archive));
              await readArchive(store, copy, to, { now });
              expect(await contentOf(store.sql, NOTED)).toEqual(content);
              expect(await archivesAway(store.sql)).toEqual([]);
              await verified(store.sql);
            } finally {
              await store.close();
            }
          },
        ),
        times,
      );
    },
    PATIENCE,
  );
});
