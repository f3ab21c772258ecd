import Database from 'better-sqlite3';
import { ProblemError } from '../problem.ts';
import { migrate } from './sqlite-migrations.ts';
import { type PlantMemory, SqliteReads } from './sqlite-reads.ts';
import { SqliteTransaction } from './sqlite-transaction.ts';
import type { Store, StoreTransaction } from './store.ts';

function setUpConnection(database: Database.Database): void {
  database.pragma('journal_mode = WAL');
  // In WAL mode only FULL makes each commit survive a power cut.
  database.pragma('synchronous = FULL');
  database.pragma('foreign_keys = ON');
  database.pragma('busy_timeout = 2000');
  database.pragma('cache_size = -65536');
}

// The disk is full or fails, the file became read-only, or another process holds it: nothing was stored.
const notStoredCodes = /^SQLITE_(FULL|IOERR|READONLY|BUSY|LOCKED|CANTOPEN|NOMEM)/;

function asRefusal(error: unknown): unknown {
  if (!(error instanceof Database.SqliteError) || !notStoredCodes.test(error.code)) return error;
  const refusal = new ProblemError(
    503,
    'Not stored',
    `The database could not write (${error.code}); nothing was stored. Try again; if it stays, look at the disk of the server.`,
  );
  refusal.cause = error;
  return refusal;
}

class SqliteStore extends SqliteReads implements Store {
  readonly #writer: Database.Database;
  readonly #transaction: SqliteTransaction;
  #last: Promise<unknown> = Promise.resolve();
  #closed = false;

  constructor(writer: Database.Database, reader: Database.Database) {
    const plant: PlantMemory = { revision: -1, model: undefined as never };
    super(reader, plant);
    this.#writer = writer;
    this.#transaction = new SqliteTransaction(writer, plant);
  }

  transaction<T>(work: (transaction: StoreTransaction) => Promise<T>): Promise<T> {
    const result = this.#last.then(() => this.#run(work));
    this.#last = result.catch(() => {});
    return result;
  }

  async #run<T>(work: (transaction: StoreTransaction) => Promise<T>): Promise<T> {
    try {
      if (this.#closed) throw new ProblemError(503, 'Not stored', 'The server is stopping; try again soon.');
      this.#transaction.begin();
      const result = await work(this.#transaction);
      this.#transaction.commit();
      return result;
    } catch (error) {
      this.#transaction.rollback();
      throw asRefusal(error);
    }
  }

  async close(): Promise<void> {
    this.#closed = true;
    await this.#last;
    this.database.close();
    this.#writer.close();
  }
}

/**
 * Opens or creates the database in one file. Reading and writing have a connection each, so that nobody reads what
 * is not yet committed.
 */
export function openSqliteStore(file: string): Store {
  const writer = new Database(file);
  setUpConnection(writer);
  migrate(writer);
  const reader = new Database(file);
  setUpConnection(reader);
  return new SqliteStore(writer, reader);
}
