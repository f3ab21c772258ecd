import pg from 'pg';
import type { Sql } from './sql.ts';

/** The statement did not run because one before it had failed. */
const isConsequence = (error: unknown): boolean =>
  error instanceof pg.DatabaseError && error.code === '25P02';

/**
 * SQL inside one transaction. A statement that gives nothing back is sent and not waited for: the connection does
 * everything in its order, so that what is read later sees it, and a failure fails whatever comes next, at the latest
 * the commit. It saves the journey to the database and back.
 */
export class TransactionSql implements Sql {
  readonly #sql: Sql;
  #last: Promise<void> = Promise.resolve();
  #failure: { readonly error: unknown } | null = null;

  constructor(sql: Sql) {
    this.#sql = sql;
  }

  async one<Row>(sql: string, ...parameters: unknown[]): Promise<Row | null> {
    return this.#answer(this.#sql.one<Row>(sql, ...parameters));
  }

  async all<Row>(sql: string, ...parameters: unknown[]): Promise<Row[]> {
    return this.#answer(this.#sql.all<Row>(sql, ...parameters));
  }

  async run(sql: string, ...parameters: unknown[]): Promise<void> {
    if (this.#failure !== null) throw this.#failure.error;
    this.#last = this.#sql.run(sql, ...parameters).catch((error: unknown) => {
      this.#failure ??= { error };
    });
  }

  /** Resolves when everything so far has been done; throws the first failure. */
  async done(): Promise<void> {
    await this.#last;
    if (this.#failure !== null) throw this.#failure.error;
  }

  async #answer<T>(answer: Promise<T>): Promise<T> {
    try {
      return await answer;
    } catch (error) {
      if (isConsequence(error)) await this.done();
      throw error;
    }
  }
}
