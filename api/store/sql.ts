/**
 * One connection to a database, in the SQL that both engines read: `?` for parameters, double quotes around result
 * names that have capitals, JSON as text, yes and no as 1 and 0, times as epoch milliseconds. What is written with
 * it runs on SQLite and on PostgreSQL, so that no query is written twice.
 */
export interface Sql {
  /** The first row, null where there is none. */
  one<Row>(sql: string, ...parameters: unknown[]): Promise<Row | null>;
  all<Row>(sql: string, ...parameters: unknown[]): Promise<Row[]>;
  run(sql: string, ...parameters: unknown[]): Promise<void>;
}

/** `(a, b) values (?, ?)` of "a, b". */
export function valuesOf(names: string): string {
  const columns = names.split(/,\s*/);
  return `(${columns.join(', ')}) values (${columns.map(() => '?').join(', ')})`;
}
