import type Database from 'better-sqlite3';
import type { ArchiveAway } from '../archive/archives-away.ts';
import { SqliteSql } from '../store/sqlite-sql.ts';
import { digestOf, MANIFEST_TABLE, type TableDigest, tablesOf } from './table-digests.ts';

const FORMAT = 'runtrue backup 1';

/** What a backup holds, so that it can be checked before it is needed. */
export interface Manifest {
  readonly format: typeof FORMAT;
  /** ISO 8601: the moment whose state the backup holds. */
  readonly takenAt: string;
  readonly from: 'sqlite' | 'postgres';
  /** Of the program that took it. */
  readonly version: string;
  /** Steps that the schema has had. */
  readonly schema: number;
  readonly tables: Readonly<Record<string, TableDigest>>;
  /** Archives that the plant needs to be whole: their months are not in the backup. Backups of before have none. */
  readonly archives?: readonly ArchiveAway[];
}

export const newManifest = (manifest: Omit<Manifest, 'format'>): Manifest => ({
  format: FORMAT,
  ...manifest,
});

export function writeManifest(database: Database.Database, manifest: Manifest): void {
  database.exec(`create table ${MANIFEST_TABLE} (body text not null) strict`);
  database.prepare(`insert into ${MANIFEST_TABLE} (body) values (?)`).run(JSON.stringify(manifest));
}

/** null: this is no backup. */
export function readManifest(database: Database.Database): Manifest | null {
  const there = database
    .prepare(`select 1 from sqlite_master where type = 'table' and name = ?`)
    .get(MANIFEST_TABLE);
  if (there === undefined) return null;
  const body = database.prepare(`select body from ${MANIFEST_TABLE}`).pluck().get() as string | undefined;
  try {
    const manifest = JSON.parse(body ?? 'null') as Manifest | null;
    return manifest?.format === FORMAT ? manifest : null;
  } catch {
    return null;
  }
}

export async function digestsOf(database: Database.Database): Promise<Manifest['tables']> {
  const sql = new SqliteSql(database);
  const digests: Record<string, TableDigest> = {};
  for (const table of tablesOf(database)) digests[table.name] = await digestOf(sql, table);
  return digests;
}

/** One sentence for each table that is not as the manifest says. */
export function differences(found: Manifest['tables'], wanted: Manifest['tables']): readonly string[] {
  return [...new Set([...Object.keys(found), ...Object.keys(wanted)])].flatMap((name) => {
    const is = found[name];
    const should = wanted[name];
    if (is === undefined) return [`The table ${name} is missing.`];
    if (should === undefined) return [`The table ${name} does not belong to it.`];
    if (is.rows !== should.rows) return [`The table ${name} has ${is.rows} rows instead of ${should.rows}.`];
    return is.digest === should.digest ? [] : [`The content of the table ${name} was changed.`];
  });
}
