import { existsSync, mkdirSync, readdirSync } from 'node:fs';
import { resolve } from 'node:path';
import Database from 'better-sqlite3';
import { type Row, rowDigester, type Table, tablesOf } from '../backup/table-digests.ts';
import { connect, type PostgresAddress } from '../store/postgres-connection.ts';
import {
  type Month,
  makeMonth,
  monthNamed,
  monthOf,
  partitionedTables,
} from '../store/postgres-partitions.ts';
import { schemaSteps } from '../store/schema/steps.ts';
import type { Sql } from '../store/sql.ts';
import { migrate } from '../store/sqlite-migrate.ts';
import type { Store } from '../store/store.ts';
import {
  type ArchivedFile,
  ArchiveProblem,
  checkFile,
  manifestDigestOf,
  readManifest,
  readRows,
  tableOf,
  writeManifest,
  writeRows,
} from './archive-files.ts';
import { archiveNote } from './archives-away.ts';

const PAGE = 1_000;

interface MonthlyTable extends Table {
  readonly time: string;
}

/** Samples before what stands on them. */
function monthlyTables(): readonly MonthlyTable[] {
  const database = new Database(':memory:');
  migrate(database);
  const tables = tablesOf(database);
  database.close();
  return partitionedTables.map(({ name, time }) => ({ ...tables.find((one) => one.name === name)!, time }));
}

async function monthsBefore(sql: Sql, { name, time }: MonthlyTable, before: number): Promise<Month[]> {
  const months: Month[] = [];
  const next = `select min(${time}) as time from ${name} where ${time} >= ?`;
  let from = Number.MIN_SAFE_INTEGER;
  for (;;) {
    const found = await sql.one<{ time: number | null }>(next, from);
    if (found === null || found.time === null) return months;
    const month = monthOf(found.time);
    if (month.to > before) return months;
    months.push(month);
    from = month.to;
  }
}

/** All rows of a month in the order of their key. */
async function* rowsOf(sql: Sql, table: MonthlyTable, { from, to }: Month): AsyncGenerator<Row[]> {
  const key = table.key.map(({ column }) => column);
  const select = `select ${table.columns.map((column) => `"${column}"`).join(', ')} from ${table.name}
    where ${table.time} >= ? and ${table.time} < ?`;
  const order = `order by ${key.join(', ')} limit ${PAGE}`;
  const after = `and (${key.join(', ')}) > (${key.map(() => '?').join(', ')})`;
  let page = await sql.all<Row>(`${select} ${order}`, from, to);
  while (page.length > 0) {
    yield page;
    if (page.length < PAGE) return;
    const last = page.at(-1)!;
    page = await sql.all<Row>(`${select} ${after} ${order}`, from, to, ...key.map((column) => last[column]));
  }
}

function emptyFolder(folder: string): void {
  if (existsSync(folder) && readdirSync(folder).length > 0) {
    throw new ArchiveProblem(`The folder ${folder} is not empty; name a new one for each archive.`);
  }
  mkdirSync(folder, { recursive: true });
}

/**
 * Writes the whole months before a moment into files and reads them back. Nothing leaves the database.
 *
 * @param sql inside one read transaction
 */
export async function writeArchive(
  sql: Sql,
  { folder, before, plant, now }: { folder: string; before: number; plant: number; now: number },
  onFile: (file: ArchivedFile) => void = () => {},
): Promise<readonly ArchivedFile[]> {
  emptyFolder(folder);
  const files: ArchivedFile[] = [];
  for (const table of monthlyTables()) {
    for (const month of await monthsBefore(sql, table, before)) {
      const written = await writeRows(folder, table, month.name, rowsOf(sql, table, month));
      files.push(written);
      onFile(written);
    }
  }
  writeManifest(folder, {
    writtenAt: new Date(now).toISOString(),
    before: new Date(before).toISOString(),
    plant,
    schema: schemaSteps.length,
    files,
  });
  return files;
}

/**
 * Takes the rows of an archive out of PostgreSQL, all of them or none: only where the files are what was written, and
 * the rows are still the ones in them. The ids stay, so that no id is ever given to a second sample.
 */
export async function releaseArchive(
  store: Store,
  plant: number,
  folder: string,
  { now, onFile = () => {} }: { readonly now: number; readonly onFile?: (file: ArchivedFile) => void },
): Promise<void> {
  const manifest = readManifest(folder);
  if (manifest.plant !== plant) {
    throw new ArchiveProblem(`The archive is of plant ${manifest.plant}, not of ${plant}.`);
  }
  const { files } = manifest;
  const tables = new Map(monthlyTables().map((table) => [table.name, table]));
  for (const file of files) await checkFile(folder, file);
  const note = archiveNote('taken out', resolve(folder), await manifestDigestOf(folder), files, now);
  // Without names of streams: nobody else writes into this plant meanwhile.
  await store.transaction(async (transaction) => {
    const { sql } = transaction;
    for (const file of files) await refuseChanged(sql, tables.get(file.table)!, file);
    // What stands on samples before the samples.
    for (const file of [...files].reverse()) {
      await release(sql, plant, tables.get(file.table)!, file);
      onFile(file);
    }
    await transaction.addNote(note);
  });
}

async function refuseChanged(sql: Sql, table: MonthlyTable, file: ArchivedFile): Promise<void> {
  const month = monthNamed(file.month);
  const digester = rowDigester(table);
  for await (const page of rowsOf(sql, table, month)) digester.add(page);
  const { rows, digest } = digester.end();
  if (rows === file.rows && digest === file.digest) return;
  throw new ArchiveProblem(
    `${table.name} of ${month.name} has changed since the archive was written, and stays; write a new archive.`,
  );
}

const DAY = 24 * 3_600_000;

async function release(sql: Sql, plant: number, { time }: MonthlyTable, file: ArchivedFile): Promise<void> {
  const { table, month } = file;
  const partition = `${table}_${month}`;
  await sql.run(`alter table ${partition} no force row level security`);
  const other = `select 1 from ${partition} where plant < ${plant} or plant > ${plant} limit 1`;
  if ((await sql.one(other)) === null) {
    await sql.run(`alter table ${table} detach partition ${partition}`);
    await sql.run(`drop table ${partition}`);
    return;
  }
  const { from, to } = monthNamed(month);
  // Day by day: no statement takes long.
  for (let day = from; day < to; day += DAY) {
    const rows = `delete from ${partition} where plant = ${plant} and ${time} >= ? and ${time} < ?`;
    await sql.run(rows, day, day + DAY);
  }
  await sql.run(`alter table ${partition} force row level security`);
}

/**
 * Reads an archive back into its plant, all or nothing. What is there already must be the same.
 *
 * @param to where the plant is in PostgreSQL, whose months are made first
 */
export async function readArchive(
  store: Store,
  folder: string,
  to: PostgresAddress | null,
  { now, onFile = () => {} }: { readonly now: number; readonly onFile?: (file: ArchivedFile) => void },
): Promise<void> {
  const { files, schema } = readManifest(folder);
  if (schema > schemaSteps.length) {
    throw new ArchiveProblem(
      `The archive has schema ${schema}, but this version of Runtrue knows only ${schemaSteps.length}; use the newer version.`,
    );
  }
  const tables = monthlyTables();
  for (const file of files) {
    if (!tables.some(({ name }) => name === file.table)) {
      throw new ArchiveProblem(`The archive holds a table ${file.table} that no plant has.`);
    }
    await checkFile(folder, file);
  }
  if (to !== null) {
    const client = await connect(to);
    for (const month of new Set(files.map((file) => file.month))) await makeMonth(client, monthNamed(month));
    await client.end();
  }
  const note = archiveNote('read back', resolve(folder), await manifestDigestOf(folder), files, now);
  const inOrder = tables.flatMap(({ name }) => files.filter(({ table }) => table === name));
  await store.transaction(async (transaction) => {
    for (const file of inOrder) {
      for await (const page of readRows(folder, file)) await putBack(transaction.sql, tableOf(file), page);
      onFile(file);
    }
    await transaction.addNote(note);
  });
}

async function putBack(sql: Sql, table: Table, rows: readonly Row[]): Promise<void> {
  const { name, columns } = table;
  const insert = `insert into ${name} (${columns.map((column) => `"${column}"`).join(', ')})
    values (${columns.map(() => '?').join(', ')}) on conflict do nothing`;
  const key = table.key.map(({ column }) => column);
  const select = `select ${columns.map((column) => `"${column}"`).join(', ')} from ${name}
    where ${key.map((column) => `${column} = ?`).join(' and ')}`;
  const digestOf = (row: Row): string => {
    const digester = rowDigester(table);
    digester.add([row]);
    return digester.end().digest;
  };
  for (const row of rows) await sql.run(insert, ...columns.map((column) => row[column]));
  for (const row of rows) {
    const stored = await sql.one<Row>(select, ...key.map((column) => row[column]));
    if (stored !== null && digestOf(stored) === digestOf(row)) continue;
    throw new ArchiveProblem(
      `A row of ${name} (${key.map((column) => `${column} ${row[column]}`).join(', ')}) is in the plant already with another content, and nothing was read back.`,
    );
  }
}
