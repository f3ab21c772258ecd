/**
 * Plants that nobody would enter, drawn by chance: every table filled straight from its schema, with odd texts, extreme
 * numbers, and null wherever a column may be null. What is stored is all that moves, backups and archives may go by.
 */
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { adoptRecords } from '../../api/audit/adopt-records.ts';
import { type Table, tablesOf } from '../../api/backup/table-digests.ts';
import type { Sql } from '../../api/store/sql.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { migrate } from '../../api/store/sqlite-migrate.ts';

type Value = string | number | Buffer | null;

interface Column {
  readonly name: string;
  readonly type: string;
  readonly isNull: boolean;
  readonly isKey: boolean;
  /** The table and column that it names a row of. */
  readonly target: { readonly table: string; readonly column: string } | null;
}

/** What the chain of digests itself is made of; it is made from the others. */
const MADE = ['audit_entries'];
/** Some months far from each other: before the epoch, with a year of one digit, the last one that there is. */
const TIMES = ['0001-02-28T23:59:59.999Z', '1969-12-31T23:59:59.999Z', '2025-08-31T23:59:59.999Z']
  .map((text) => Date.parse(text))
  .flatMap((last) => [last, last + 1])
  .concat(Date.parse('2025-09-03T08:00:00Z'), Date.parse('9999-12-31T23:59:59.999Z'));
export const monthly: Readonly<Record<string, string>> = {
  samples: 'taken_at',
  sample_revisions: 'taken_at',
  signals: 'taken_at',
  events: 'at',
};

// Neither NUL nor half a surrogate pair: every door refuses them.
const character = fc.oneof(
  fc.constantFrom(
    'a',
    'Z',
    '0',
    ' ',
    '\n',
    '\t',
    "'",
    '"',
    '\\',
    '/',
    ':',
    '=',
    '%',
    '?',
    '$1',
    ',',
    '{',
    '}',
  ),
  fc.constantFrom(
    'ä',
    'ß',
    'é',
    'e\u0301',
    '\u202e',
    '\u200b',
    '\ufeff',
    '\u2028',
    '\uffff',
    '𝒲',
    '🛞',
    '漢',
    '\x7f',
    '\x01',
  ),
  fc.string({ unit: 'binary', minLength: 1, maxLength: 1 }).filter((one) => one !== '\0'),
);
const shortText = fc.array(character, { maxLength: 12 }).map((list) => list.join(''));
const longText = fc.array(character, { maxLength: 600, size: 'max' }).map((list) => list.join(''));
const whole = fc.oneof(
  fc.constantFrom(0, 1, -1, 2 ** 31, -(2 ** 31) - 1, Number.MAX_SAFE_INTEGER, Number.MIN_SAFE_INTEGER),
  fc.integer(),
);
const real = fc.oneof(
  fc.constantFrom(0, -0, 0.1, 127, 1e21, 5e-324, Number.MAX_VALUE, -Number.MAX_VALUE, 2 ** 53, 1 / 3),
  fc.double({ noNaN: true, noDefaultInfinity: true }),
);
const bytes = (length: number) =>
  fc.uint8Array({ minLength: length, maxLength: length }).map((list) => Buffer.from(list));

function columnsOf(database: Database.Database, table: string): Column[] {
  const references = database.pragma(`foreign_key_list(${table})`) as {
    readonly from: string;
    readonly table: string;
    readonly to: string;
  }[];
  const columns = database.pragma(`table_info(${table})`) as {
    readonly name: string;
    readonly type: string;
    readonly notnull: number;
    readonly pk: number;
  }[];
  return columns.map(({ name, type, notnull, pk }) => {
    const reference = references.find(({ from }) => from === name);
    return {
      name,
      type: type.toLowerCase(),
      isNull: notnull === 0 && pk === 0,
      isKey: pk > 0,
      target: reference === undefined ? null : { table: reference.table, column: reference.to },
    };
  });
}

/** A value of a column; where it names a row, a number that picks one of those that are there. */
function drawnFor(table: string, { name, type, isNull, isKey, target }: Column): fc.Arbitrary<Value> {
  if (target !== null) return isNull ? fc.option(fc.nat(1000), { freq: 3 }) : fc.nat(1000);
  if (monthly[table] === name) return fc.constantFrom(...TIMES);
  const some = (): fc.Arbitrary<Value> => {
    switch (type) {
      case 'text':
        return isKey
          ? shortText
          : fc.oneof({ weight: 5, arbitrary: shortText }, { weight: 1, arbitrary: longText });
      case 'integer':
        // Numbers that the database gives begin at 1.
        return isKey && (name === 'no' || name === 'id') ? fc.integer({ min: 1, max: 100_000 }) : whole;
      case 'real':
        return real;
      case 'blob':
        return bytes(name === 'id' ? 16 : 32);
      default:
        throw new Error(`No values are known for ${table}.${name} of the type ${type}.`);
    }
  };
  return isNull ? fc.option(some(), { freq: 3 }) : some();
}

interface Schema {
  readonly tables: readonly { readonly table: Table; readonly columns: readonly Column[] }[];
}

/** The tables, each after those that it names rows of. */
function readSchema(): Schema {
  const database = new Database(':memory:');
  migrate(database);
  const left = tablesOf(database)
    .filter(({ name }) => !MADE.includes(name))
    .map((table) => ({ table, columns: columnsOf(database, table.name) }));
  database.close();
  const tables: (typeof left)[number][] = [];
  while (left.length > 0) {
    const next = left.findIndex(({ columns }) =>
      columns.every(
        ({ target }) => target === null || tables.some(({ table }) => table.name === target.table),
      ),
    );
    tables.push(...left.splice(next, 1));
  }
  return { tables };
}

const schema = readSchema();

export type AnyPlant = Readonly<Record<string, readonly Readonly<Record<string, Value>>[]>>;

export const anyPlant: fc.Arbitrary<AnyPlant> = fc.record(
  Object.fromEntries(
    schema.tables.map(({ table, columns }) => [
      table.name,
      fc.array(
        fc.record(Object.fromEntries(columns.map((column) => [column.name, drawnFor(table.name, column)]))),
        { maxLength: table.name in monthly ? 12 : 6 },
      ),
    ]),
  ),
);

/** Stores a plant in a new file, and takes its records into the chain of digests. */
export async function storePlant(file: string, plant: AnyPlant): Promise<void> {
  await openSqliteStore(file).close();
  const database = new Database(file);
  for (const { table, columns } of schema.tables) {
    // Two draws may meet in what must be there once.
    const insert = database.prepare(
      `insert or ignore into ${table.name} (${columns.map(({ name }) => `"${name}"`).join(', ')})
       values (${columns.map(() => '?').join(', ')})`,
    );
    for (const row of plant[table.name] ?? []) {
      const values = columns.map(({ name, target }) => {
        const drawn = row[name]!;
        if (target === null || drawn === null) return drawn;
        const there = database
          .prepare(`select ${target.column} from ${target.table} order by 1`)
          .pluck()
          .all();
        return there.length === 0 ? null : there[(drawn as number) % there.length];
      });
      const isComplete = columns.every(
        ({ isNull, target }, index) => isNull || target === null || values[index] !== null,
      );
      if (isComplete) insert.run(values);
    }
  }
  database.close();
  const store = openSqliteStore(file);
  await adoptRecords(store);
  await store.close();
}

/** Every row of every table, as plain data in an order that no engine has a say in. */
export async function contentOf(sql: Sql, left: readonly string[] = []): Promise<Record<string, string[]>> {
  const content: Record<string, string[]> = {};
  const database = new Database(':memory:');
  migrate(database);
  const tables = tablesOf(database);
  database.close();
  for (const { name, columns } of tables) {
    if (left.includes(name)) continue;
    const rows = await sql.all<Record<string, Value>>(
      `select ${columns.map((column) => `"${column}"`).join(', ')} from ${name}`,
    );
    content[name] = rows
      .map((row) =>
        JSON.stringify(
          columns.map((column) => {
            const value = row[column]!;
            return Buffer.isBuffer(value) ? `bytes ${value.toString('hex')}` : value;
          }),
        ),
      )
      .sort();
  }
  return content;
}
