import { setImmediate, setTimeout as wait } from 'node:timers/promises';
import Database from 'better-sqlite3';
import { ProblemError } from '../problem.ts';
import { makePrivate } from './private-file.ts';
import { type PlantMemory, SqlReads } from './reads.ts';
import { migrate } from './sqlite-migrate.ts';
import { SqliteSql } from './sqlite-sql.ts';
import type { Store, StoreTransaction } from './store.ts';
import { MemoryOfAll } from './stream-memory.ts';
import { SqlTransaction } from './transaction.ts';

function setUpConnection(database: Database.Database): void {
  database.pragma('journal_mode = WAL');
  // In WAL mode only FULL makes each commit survive a power cut.
  database.pragma('synchronous = FULL');
  database.pragma('foreign_keys = ON');
  database.pragma('busy_timeout = 2000');
  database.pragma('cache_size = -65536');
}

/** How long a writer waits for another program that holds the file, and how often it looks. */
const BUSY_MILLISECONDS = 2_000;
const LOOK_EVERY = 20;

const isBusy = (error: unknown): boolean =>
  error instanceof Database.SqliteError && error.code.startsWith('SQLITE_BUSY');

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

/** Something to be written. */
interface Write {
  readonly work: (transaction: StoreTransaction) => Promise<unknown>;
  /** It is short and leaves the plant as it is: others may be committed together with it. */
  readonly isSmall: boolean;
  readonly resolve: (result: unknown) => void;
  readonly reject: (error: unknown) => void;
}

/** So many of them wait for the last one of them at most. */
const MOST_TOGETHER = 64;

class SqliteStore extends SqlReads implements Store {
  readonly #reader: Database.Database;
  readonly #writer: SqliteSql;
  readonly #transaction: SqlTransaction;
  /** SQLite counts here what other connections have written. */
  #dataVersion: unknown = null;
  readonly #waiting: Write[] = [];
  #writing: Promise<void> | null = null;
  #closed = false;

  constructor(writer: Database.Database, reader: Database.Database) {
    const plant: PlantMemory = { revision: -1, model: undefined as never };
    super(new SqliteSql(reader), plant);
    this.#reader = reader;
    this.#writer = new SqliteSql(writer);
    this.#transaction = new SqlTransaction(this.#writer, plant, new MemoryOfAll());
  }

  transaction<T>(
    work: (transaction: StoreTransaction) => Promise<T>,
    streams?: readonly string[],
  ): Promise<T> {
    return new Promise((resolve, reject) => {
      const isSmall = streams?.length === 1;
      this.#waiting.push({ work, isSmall, resolve: resolve as Write['resolve'], reject });
      this.#writing ??= this.#writeAll();
    });
  }

  async #writeAll(): Promise<void> {
    // Whoever else writes in this moment comes to wait as well.
    await null;
    for (let first = this.#waiting.shift(); first !== undefined; first = this.#waiting.shift()) {
      await this.#writeTogether(first);
    }
    this.#writing = null;
  }

  /**
   * One flush of the disk for all that wait, for it takes longer than all else. Nobody is answered before it, and
   * what fails by itself is undone by itself.
   */
  async #writeTogether(first: Write): Promise<void> {
    const done: { readonly write: Write; readonly result: unknown }[] = [];
    let write = first;
    try {
      if (this.#closed) throw new ProblemError(503, 'Not stored', 'The server is stopping; try again soon.');
      await this.#begin();
      done.push({ write, result: await this.#carryOut(write) });
      // A turn for requests that have arrived meanwhile to come to wait.
      if (first.isSmall && this.#waiting.length === 0) await setImmediate();
      while (first.isSmall && this.#waiting[0]?.isSmall && done.length < MOST_TOGETHER) {
        write = this.#waiting.shift()!;
        this.#writer.prepared('savepoint one').run();
        try {
          done.push({ write, result: await this.#carryOut(write) });
        } catch (error) {
          this.#transaction.undone();
          if (!this.#writer.database.inTransaction) throw error;
          this.#writer.prepared('rollback to one').run();
          write.reject(asRefusal(error));
        }
        this.#writer.prepared('release one').run();
      }
      this.#writer.prepared('commit').run();
    } catch (error) {
      this.#transaction.undone();
      // After some I/O errors SQLite has rolled back by itself.
      if (this.#writer.database.inTransaction) this.#writer.prepared('rollback').run();
      for (const { reject } of [write, ...done.map(({ write: other }) => other)]) reject(asRefusal(error));
      return;
    }
    for (const { write: stored, result } of done) stored.resolve(result);
  }

  async #carryOut({ work }: Write): Promise<unknown> {
    const result = await work(this.#transaction);
    await this.#transaction.finish();
    return result;
  }

  /** SQLite's own waiting would hold up everything else in this process. */
  async #begin(): Promise<void> {
    const until = performance.now() + BUSY_MILLISECONDS;
    for (;;) {
      try {
        this.#writer.prepared('begin immediate').run();
        break;
      } catch (error) {
        if (!isBusy(error) || performance.now() > until) throw error;
        await wait(LOOK_EVERY);
      }
    }
    const version = this.#writer.prepared('pragma data_version').pluck().get();
    this.#transaction.begun(version === this.#dataVersion);
    this.#dataVersion = version;
  }

  async bytes(): Promise<number> {
    const pages = this.#reader.pragma('page_count', { simple: true }) as number;
    return pages * (this.#reader.pragma('page_size', { simple: true }) as number);
  }

  async close(): Promise<void> {
    this.#closed = true;
    await this.#writing;
    this.#reader.close();
    this.#writer.database.close();
  }
}

/**
 * Opens or creates the database in one file. Reading and writing have a connection each, so that nobody reads what
 * is not yet committed.
 */
export function openSqliteStore(file: string): Store {
  makePrivate(file);
  const writer = new Database(file);
  setUpConnection(writer);
  migrate(writer);
  writer.pragma('busy_timeout = 0');
  const reader = new Database(file);
  setUpConnection(reader);
  return new SqliteStore(writer, reader);
}
