import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import type { Client } from 'pg';
import { archivesAway, shownArchive } from '../archive/archives-away.ts';
import { adoptRecords } from '../audit/adopt-records.ts';
import { digestOf, pagesOf, type Row, rowDigester, type Table, tablesOf } from '../backup/table-digests.ts';
import { CommandProblem } from '../console/command-problem.ts';
import { connect, type PostgresAddress, refuseUnsafe } from '../store/postgres-connection.ts';
import { advisoryKey } from '../store/postgres-locks.ts';
import { migrate } from '../store/postgres-migrate.ts';
import { makeMonth, monthOf, partitionedTables } from '../store/postgres-partitions.ts';
import { PostgresSql } from '../store/postgres-sql.ts';
import { openSqliteStore } from '../store/sqlite.ts';
import { SqliteSql } from '../store/sqlite-sql.ts';

/** A plant cannot be moved; the message is one sentence for the person at the terminal. */
export class MoveProblem extends CommandProblem {
  override readonly name = 'MoveProblem';
}

/** What arrived of a table, the same at both ends. */
export interface MovedTable {
  readonly name: string;
  readonly rows: number;
  readonly digest: string;
}

/** PostgreSQL takes at most 65535 parameters a statement. */
const MOST_PARAMETERS = 60_000;
const C_ORDER = ' collate "C"';

/**
 * Copies a whole plant from a file into PostgreSQL, in one transaction, and compares every table at both ends before
 * it says that it is done. The file stays as it is. A server may go on writing to it, but what it writes after the
 * beginning is not moved: stop it first.
 */
export async function movePlant(
  file: string,
  to: PostgresAddress,
  onTable: (table: MovedTable) => void = () => {},
): Promise<readonly MovedTable[]> {
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-move-'));
  try {
    const copy = join(folder, 'plant.sqlite');
    await copyInNewestSchema(file, copy);
    const database = new Database(copy, { readonly: true });
    try {
      const away = await archivesAway(new SqliteSql(database));
      // Their ids are not in the file, so that PostgreSQL could not know them either.
      if (away.length > 0) {
        throw new MoveProblem(
          `Of this plant ${away.map(shownArchive).join('; ')}; read them back first (npm run archive -- --read), then move it. Nothing was moved.`,
        );
      }
      return await intoPostgres(database, to, onTable);
    } finally {
      database.close();
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** The file itself may be of an older version, and its server must not find it changed. */
async function copyInNewestSchema(file: string, copy: string): Promise<void> {
  let source: Database.Database;
  try {
    source = new Database(file, { readonly: true, fileMustExist: true });
  } catch (error) {
    throw new MoveProblem(`Cannot open ${file}: ${(error as Error).message}. Nothing was moved.`);
  }
  try {
    source.prepare('vacuum into ?').run(copy);
  } catch (error) {
    throw new MoveProblem(`Cannot copy ${file}: ${(error as Error).message}. Nothing was moved.`);
  } finally {
    source.close();
  }
  const store = openSqliteStore(copy);
  await adoptRecords(store);
  await store.close();
}

async function intoPostgres(
  source: Database.Database,
  to: PostgresAddress,
  onTable: (table: MovedTable) => void,
): Promise<readonly MovedTable[]> {
  const tables = inOrderOfReferences(source);
  const client = await connect(to, { query_timeout: 0 });
  try {
    await refuseUnsafe(client);
    await migrate(client);
    await refuseUnlessEmpty(client, tables, to.plant);
    for (const time of monthsIn(source)) await makeMonth(client, monthOf(time));
    await client.query('set idle_in_transaction_session_timeout = 0');
    await client.query('begin');
    // No server writes into this plant meanwhile.
    await client.query('select pg_advisory_xact_lock($1)', [advisoryKey('plant', to.plant)]);
    await refuseUnlessEmpty(client, tables, to.plant);
    const moved: MovedTable[] = [];
    for (const table of tables) {
      const one = await moveTable(source, client, table);
      moved.push(one);
      onTable(one);
    }
    await client.query(
      'insert into sample_counts (stream_id, samples) select stream_id, count(*) from samples group by stream_id',
    );
    await client.query('commit');
    await client.query('analyze');
    return moved;
  } finally {
    await client.end();
  }
}

/** A table after those that it refers to. */
function inOrderOfReferences(source: Database.Database): readonly Table[] {
  const ordered: Table[] = [];
  const left = new Map(tablesOf(source).map((table) => [table.name, table]));
  const take = (table: Table): void => {
    left.delete(table.name);
    const references = source.pragma(`foreign_key_list(${table.name})`) as { readonly table: string }[];
    for (const { table: name } of references) {
      const target = left.get(name);
      if (target !== undefined) take(target);
    }
    ordered.push(table);
  };
  for (const table of [...left.values()]) if (left.has(table.name)) take(table);
  return ordered;
}

async function refuseUnlessEmpty(client: Client, tables: readonly Table[], plant: number): Promise<void> {
  for (const { name } of tables) {
    const { rows } = await client.query(`select 1 from ${name} limit 1`);
    if (rows.length > 0) {
      throw new MoveProblem(
        `Plant ${plant} of this database is not empty (${name} has rows), and nothing was moved; choose another plant in it (?plant=2) or an empty database.`,
      );
    }
  }
}

/** A moment of each month that has rows. */
function monthsIn(source: Database.Database): readonly number[] {
  const months = new Set<number>();
  for (const { name, time } of partitionedTables) {
    const next = source.prepare(`select min(${time}) from ${name} where ${time} >= ?`).pluck();
    let found = next.get(Number.MIN_SAFE_INTEGER) as number | null;
    while (found !== null) {
      const month = monthOf(found);
      months.add(month.from);
      found = next.get(month.to) as number | null;
    }
  }
  return [...months];
}

async function moveTable(source: Database.Database, client: Client, table: Table): Promise<MovedTable> {
  const digester = rowDigester(table);
  const most = Math.floor(MOST_PARAMETERS / table.columns.length);
  for await (const page of pagesOf(new SqliteSql(source), table)) {
    digester.add(page);
    for (let from = 0; from < page.length; from += most) {
      await insertRows(client, table, page.slice(from, from + most));
    }
  }
  const sent = digester.end();
  const arrived = await digestOf(new PostgresSql(client), table, C_ORDER);
  if (arrived.rows !== sent.rows || arrived.digest !== sent.digest) {
    throw new MoveProblem(
      `The table ${table.name} did not arrive as it was sent (${sent.rows} rows, ${sent.digest}; arrived ${arrived.rows} rows, ${arrived.digest}), and nothing was moved.`,
    );
  }
  await countOn(client, table);
  return { name: table.name, ...sent };
}

async function insertRows(client: Client, { name, columns }: Table, rows: readonly Row[]): Promise<void> {
  let place = 0;
  const places = rows.map(() => `(${columns.map(() => `$${++place}`).join(', ')})`);
  const values = rows.flatMap((row) => columns.map((column) => row[column] ?? null));
  const names = columns.map((column) => `"${column}"`).join(', ');
  await client.query(`insert into ${name} (${names}) values ${places.join(', ')}`, values);
}

/** The next row is numbered after the last of these. */
async function countOn(client: Client, { name, key }: Table): Promise<void> {
  const [only, ...more] = key;
  if (only === undefined || more.length > 0) return;
  const { rows } = await client.query<{ sequence: string | null }>(
    'select pg_get_serial_sequence($1, $2) as sequence',
    [name, only.column],
  );
  const sequence = rows[0]?.sequence ?? null;
  if (sequence === null) return;
  // Number by number: other plants count with it at the same time, and setting it might take it back under them.
  await client.query(
    `select count(nextval($1)) from generate_series(1, (select max("${only.column}") from ${name}) - nextval($1))`,
    [sequence],
  );
}
