import { existsSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { version } from '../../package.json' with { type: 'json' };
import { archivesAway } from '../archive/archives-away.ts';
import { openReadSql, requirePlant } from '../store/open-read-sql.ts';
import { makePrivate } from '../store/private-file.ts';
import type { Sql } from '../store/sql.ts';
import { migrate } from '../store/sqlite-migrate.ts';
import { SqliteSql } from '../store/sqlite-sql.ts';
import { BackupProblem } from './backup-problem.ts';
import { putInPlace, removeDatabase } from './durable-file.ts';
import { differences, digestsOf, type Manifest, newManifest, writeManifest } from './manifest.ts';
import { PASSING_TABLES, pagesOf, rowDigester, type TableDigest, tablesOf } from './table-digests.ts';

/** Pages copied before others get a turn. */
const PAGES_AT_ONCE = 1_000;

export interface BackupSource {
  /** Of a PostgreSQL database; undefined: the plant is in `file`. */
  readonly databaseAddress: string | undefined;
  readonly file: string;
}

export interface TakenBackup {
  readonly file: string;
  readonly manifest: Manifest;
}

/**
 * Copies a plant as it is at one moment into one file, while servers go on writing. Whatever the engine, the backup
 * is a SQLite database with a manifest in it: it can be read by many programs for a long time, and restored to
 * either engine. What the copy holds is compared with what the plant held before this says that it is done.
 */
export async function takeBackup(source: BackupSource, folder: string, now: number): Promise<TakenBackup> {
  mkdirSync(folder, { recursive: true });
  const takenAt = new Date(now).toISOString();
  const file = join(folder, `runtrue-${takenAt.replace(/[-:]|\.\d+/g, '')}.sqlite`);
  if (existsSync(file))
    throw new BackupProblem(`There is a backup ${file} already; wait a second and try again.`);
  const partial = `${file}.partial`;
  removeDatabase(partial);
  makePrivate(partial);
  try {
    const tables =
      source.databaseAddress === undefined
        ? await copyPages(source.file, partial)
        : await copyRows(source.databaseAddress, source.file, partial);
    const copy = new Database(partial);
    try {
      // One file, without a journal beside it.
      copy.pragma('journal_mode = delete');
      leaveOut(copy, PASSING_TABLES);
      const [wrong] = differences(await digestsOf(copy), tables);
      if (wrong !== undefined) throw new BackupProblem(`The backup is not what the plant holds: ${wrong}`);
      const manifest = newManifest({
        takenAt,
        from: source.databaseAddress === undefined ? 'sqlite' : 'postgres',
        version,
        schema: copy.pragma('user_version', { simple: true }) as number,
        tables,
        archives: await archivesAway(new SqliteSql(copy)),
      });
      writeManifest(copy, manifest);
      copy.close();
      putInPlace(partial, file);
      return { file, manifest };
    } finally {
      copy.close();
    }
  } catch (error) {
    removeDatabase(partial);
    throw error;
  }
}

/** SQLite's own online backup, inside one read transaction: writers neither wait nor make it begin anew. */
async function copyPages(file: string, partial: string): Promise<Manifest['tables']> {
  requirePlant(file);
  const source = new Database(file, { readonly: true, fileMustExist: true });
  try {
    source.exec('begin');
    // The first read is what fixes the moment.
    source.prepare('select count(*) from sqlite_master').get();
    await source.backup(partial, { progress: () => PAGES_AT_ONCE });
    return await digestsOf(source);
  } finally {
    source.close();
  }
}

/** Empties tables; what was in them is not left in unused pages of the file either. */
function leaveOut(copy: Database.Database, tables: readonly string[]): void {
  copy.pragma('secure_delete = on');
  const isThere = copy.prepare(`select 1 from sqlite_master where type = 'table' and name = ?`);
  for (const name of tables) if (isThere.get(name) !== undefined) copy.exec(`delete from ${name}`);
}

/** Row by row from one consistent state of a PostgreSQL database. */
async function copyRows(address: string, file: string, partial: string): Promise<Manifest['tables']> {
  const { sql, close } = await openReadSql(address, file);
  const copy = new Database(partial);
  try {
    // Written once and flushed whole at the end.
    copy.pragma('journal_mode = off');
    copy.pragma('synchronous = off');
    copy.pragma('foreign_keys = off');
    migrate(copy);
    const digests: Record<string, TableDigest> = {};
    for (const table of tablesOf(copy)) digests[table.name] = await copyTable(sql, copy, table);
    return digests;
  } finally {
    copy.close();
    await close();
  }
}

async function copyTable(
  sql: Sql,
  copy: Database.Database,
  table: ReturnType<typeof tablesOf>[number],
): Promise<TableDigest> {
  const { name, columns } = table;
  const places = columns.map(() => '?').join(', ');
  const names = columns.map((column) => `"${column}"`).join(', ');
  const insert = copy.prepare(`insert into "${name}" (${names}) values (${places})`);
  const digester = rowDigester(table);
  const write = copy.transaction((page: readonly Readonly<Record<string, unknown>>[]) => {
    for (const row of page) insert.run(columns.map((column) => row[column]));
  });
  for await (const page of pagesOf(sql, table, ' collate "C"')) {
    write(page);
    digester.add(page);
  }
  return digester.end();
}
