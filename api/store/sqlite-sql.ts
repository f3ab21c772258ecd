import type Database from 'better-sqlite3';
import type { Sql } from './sql.ts';

/** SQL over one SQLite connection. The driver answers at once; the promises are there for the engine that does not. */
export class SqliteSql implements Sql {
  readonly database: Database.Database;
  readonly #statements = new Map<string, Database.Statement>();

  constructor(database: Database.Database) {
    this.database = database;
  }

  /** Prepared once a connection: preparing costs more than most queries. */
  prepared(sql: string): Database.Statement {
    let statement = this.#statements.get(sql);
    if (statement === undefined) {
      statement = this.database.prepare(sql);
      this.#statements.set(sql, statement);
    }
    return statement;
  }

  async one<Row>(sql: string, ...parameters: unknown[]): Promise<Row | null> {
    return (this.prepared(sql).get(parameters) as Row | undefined) ?? null;
  }

  async all<Row>(sql: string, ...parameters: unknown[]): Promise<Row[]> {
    return this.prepared(sql).all(parameters) as Row[];
  }

  async run(sql: string, ...parameters: unknown[]): Promise<void> {
    this.prepared(sql).run(parameters);
  }
}
