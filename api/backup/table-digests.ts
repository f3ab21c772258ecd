import { createHash } from 'node:crypto';
import type Database from 'better-sqlite3';
import type { Sql } from '../store/sql.ts';

export interface Table {
  readonly name: string;
  readonly columns: readonly string[];
  /** What its rows are ordered by; `text`: by the bytes of it, whatever the language of a database. */
  readonly key: readonly { readonly column: string; readonly text: boolean }[];
}

export interface TableDigest {
  readonly rows: number;
  /** SHA-256, hexadecimal, over all rows in the order of their keys. */
  readonly digest: string;
}

export type Row = Readonly<Record<string, string | number | Buffer | null>>;

/** Holds the manifest in a backup. */
export const MANIFEST_TABLE = 'backup_manifest';
/** Files that wait for their import are no part of a plant, and are uploaded again. Those that refer come first. */
export const PASSING_TABLES: readonly string[] = ['import_file_pieces', 'import_files'];
const PAGE = 1_000;

/** Every table of a plant, as its SQLite schema says. */
export function tablesOf(database: Database.Database): readonly Table[] {
  const names = database
    .prepare(
      `select name from sqlite_master where type = 'table' and name not like 'sqlite\\_%' escape '\\'
       and name <> ? order by name`,
    )
    .pluck()
    .all(MANIFEST_TABLE) as string[];
  const kept = names.filter((name) => !PASSING_TABLES.includes(name));
  return kept.map((name) => {
    const columns = database.pragma(`table_info(${name})`) as {
      readonly name: string;
      readonly type: string;
      readonly pk: number;
    }[];
    const key = columns
      .filter(({ pk }) => pk > 0)
      .sort((a, b) => a.pk - b.pk)
      .map((column) => ({ column: column.name, text: column.type.toLowerCase() === 'text' }));
    if (key.length === 0) throw new Error(`The table ${name} has no primary key.`);
    return { name, columns: columns.map((column) => column.name), key };
  });
}

/**
 * All rows of a table in the order of its key, some at a time.
 *
 * @param textOrder what an engine needs to order text by its bytes: nothing in SQLite, ` collate "C"` in PostgreSQL
 */
export async function* pagesOf(
  sql: Sql,
  { name, columns, key }: Table,
  textOrder = '',
): AsyncGenerator<Row[]> {
  const quoted = (column: string): string => `"${column}"`;
  const order = key.map(({ column, text }) => quoted(column) + (text ? textOrder : ''));
  const select = `select ${columns.map(quoted).join(', ')} from ${quoted(name)}`;
  const rest = `order by ${order.join(', ')} limit ${PAGE}`;
  const after = `(${order.join(', ')}) > (${key.map(() => '?').join(', ')})`;
  let page = await sql.all<Row>(`${select} ${rest}`);
  while (page.length > 0) {
    yield page;
    if (page.length < PAGE) return;
    const last = page.at(-1)!;
    page = await sql.all<Row>(`${select} where ${after} ${rest}`, ...key.map(({ column }) => last[column]));
  }
}

/** Adds rows to a digest; the same for both engines. */
export function rowDigester({ columns }: Table) {
  const hash = createHash('sha256');
  let rows = 0;
  return {
    add(page: readonly Row[]): void {
      for (const row of page) {
        const values = columns.map((column) => {
          const value = row[column] ?? null;
          return Buffer.isBuffer(value) ? { bytes: value.toString('hex') } : value;
        });
        hash.update(`${JSON.stringify(values)}\n`);
      }
      rows += page.length;
    },
    end: (): TableDigest => ({ rows, digest: hash.digest('hex') }),
  };
}

export async function digestOf(sql: Sql, table: Table, textOrder = ''): Promise<TableDigest> {
  const digester = rowDigester(table);
  for await (const page of pagesOf(sql, table, textOrder)) digester.add(page);
  return digester.end();
}
