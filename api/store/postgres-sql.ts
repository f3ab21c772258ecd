import type { CustomTypesConfig, QueryResult } from 'pg';
import pg from 'pg';
import type { Sql } from './sql.ts';

/** What a query is sent over: one connection, or a pool of them. */
export interface Queryable {
  query(config: { name?: string; text: string; values?: unknown[] }): Promise<QueryResult>;
}

interface Prepared {
  /** null: said too rarely to be kept by the database. */
  readonly name: string | null;
  readonly text: string;
}

/** Texts that are kept prepared; more would be texts that are put together anew each time. */
const MOST_PREPARED = 2_000;

// Of all connections together: the same text has the same name on each of them.
const prepared = new Map<string, Prepared>();

/**
 * The same for PostgreSQL: `?` outside of quotes becomes $1, $2 and so on, and a key that a row may meet begins with
 * the plant, as every key does there.
 */
export function translated(sql: string): string {
  let count = 0;
  return sql.replace(/'[^']*'|"[^"]*"|--[^\n]*|\?|\bon conflict \(/gi, (found) => {
    if (found === '?') return `$${++count}`;
    return /^on conflict/i.test(found) ? `${found}plant, ` : found;
  });
}

function preparedOf(sql: string): Prepared {
  let found = prepared.get(sql);
  if (found === undefined) {
    const isKept = prepared.size < MOST_PREPARED;
    found = { name: isKept ? `q${prepared.size}` : null, text: translated(sql) };
    if (isKept) prepared.set(sql, found);
  }
  return found;
}

/** A 64-bit number that JavaScript holds exactly; any other would be changed unseen. */
function wholeNumber(text: string): number {
  const number = Number(text);
  if (!Number.isSafeInteger(number)) throw new RangeError(`${text} is too large a number to be read exactly`);
  return number;
}

// Object identifiers of types, from the PostgreSQL catalogue pg_type.
const BOOL = 16;
const INT8 = 20;
const NUMERIC = 1700;

/** Values as SQLite gives them: numbers for all numbers, 1 and 0 for yes and no. */
export const valueTypes: CustomTypesConfig = {
  getTypeParser(type: number, format?: unknown) {
    if (format === 'binary') return pg.types.getTypeParser(type, 'binary');
    if (type === INT8) return wholeNumber;
    if (type === NUMERIC) return Number;
    if (type === BOOL) return (text: string) => (text === 't' ? 1 : 0);
    return pg.types.getTypeParser(type, 'text');
  },
};

/** SQL over PostgreSQL; each text is prepared once a connection. */
export class PostgresSql implements Sql {
  readonly #connection: Queryable;

  constructor(connection: Queryable) {
    this.#connection = connection;
  }

  async #rows(sql: string, values: unknown[]): Promise<unknown[]> {
    const { name, text } = preparedOf(sql);
    const { rows } = await this.#connection.query(name === null ? { text, values } : { name, text, values });
    return rows;
  }

  async one<Row>(sql: string, ...parameters: unknown[]): Promise<Row | null> {
    const rows = await this.#rows(sql, parameters);
    return (rows[0] as Row | undefined) ?? null;
  }

  async all<Row>(sql: string, ...parameters: unknown[]): Promise<Row[]> {
    return (await this.#rows(sql, parameters)) as Row[];
  }

  async run(sql: string, ...parameters: unknown[]): Promise<void> {
    await this.#rows(sql, parameters);
  }
}
