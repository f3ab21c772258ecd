import pg from 'pg';
import { GENESIS } from '../audit/audit-chain.ts';
import { ProblemError } from '../problem.ts';
import type { SampleAnswer } from '../schemas.ts';
import { connect, connectionConfig, type PostgresAddress, refuseUnsafe } from './postgres-connection.ts';
import { asRefusal, isBroken, isOutsidePartitions, isPassing, type Stage } from './postgres-errors.ts';
import { advisoryKey } from './postgres-locks.ts';
import { NodeMemory, TransactionMemory } from './postgres-memory.ts';
import { migrate } from './postgres-migrate.ts';
import { Months } from './postgres-months.ts';
import { PostgresSql } from './postgres-sql.ts';
import { acceptedAnswer, type Begun, PostgresTransaction, sampleCount } from './postgres-transaction.ts';
import { TransactionSql } from './postgres-transaction-sql.ts';
import { type PlantMemory, SqlReads } from './reads.ts';
import type { Sql } from './sql.ts';
import type { Store, StoreTransaction } from './store.ts';

const READERS = 8;
const WRITERS = 16;
/** A transaction that another one got in the way of is done again so often. */
const MOST_ATTEMPTS = 5;
const MAKE_MONTHS_EVERY = 6 * 3_600_000;

interface Beginning {
  readonly client: pg.PoolClient;
  readonly sql: Sql;
  readonly streams: readonly string[] | null;
  readonly sampleId: string | null;
  readonly memory: TransactionMemory;
}

interface BegunStream {
  readonly revision: number;
  readonly sampleNo: number;
  readonly no: number | null;
  readonly digest: Buffer | null;
}

// Under a name like the others, so that it leaves together with them.
const begin = { name: 'begin', text: 'begin isolation level read committed' };
const lockShared = 'select pg_advisory_xact_lock_shared(?)';
const lock = 'select pg_advisory_xact_lock(?)';
// One stream each: a statement over a list of streams is planned anew every time, which costs more than all the rest.
const beginStream = `select (select coalesce(max(no), 0) from plant_changes) as revision,
    nextval('samples_no_seq') as "sampleNo", head.no, head.digest
  from (select 1) as one left join lateral (
    select no, digest from audit_entries where chain = ? order by no desc limit 1
  ) as head on true`;

function poolOf(to: PostgresAddress, size: number): pg.Pool {
  // Statements are sent without waiting for the answers to those before them: one journey for several.
  const pool = new pg.Pool({ ...connectionConfig(to), max: size, pipeline: true } as pg.PoolConfig);
  // What breaks is told to whoever asks next; without a listener it would end the process.
  pool.on('error', () => {});
  pool.on('connect', (client) => client.on('error', () => {}));
  return pool;
}

/** Reads of what is committed, each over whichever connection is free. */
function readsOver(pool: pg.Pool): Sql {
  return new PostgresSql({
    async query(config) {
      try {
        return await pool.query(config);
      } catch (error) {
        throw asRefusal(error, 'reading');
      }
    },
  });
}

class PostgresStore extends SqlReads implements Store {
  readonly #readers: pg.Pool;
  readonly #writers: pg.Pool;
  readonly #plantNumber: number;
  readonly #plant: PlantMemory;
  readonly #memory = new NodeMemory();
  readonly #months: Months;
  readonly #makingMonths: NodeJS.Timeout;
  readonly makeMonthsAhead: () => Promise<void>;
  readonly #running = new Set<Promise<unknown>>();
  #closed = false;

  constructor(to: PostgresAddress, now: () => number) {
    const readers = poolOf(to, READERS);
    const plant: PlantMemory = { revision: -1, model: undefined as never };
    super(readsOver(readers), plant);
    this.#readers = readers;
    this.#writers = poolOf(to, WRITERS);
    this.#plantNumber = to.plant;
    this.#plant = plant;
    // Not from the writers: a transaction that waits for its month holds one of them.
    this.#months = new Months(() => readers.connect());
    this.makeMonthsAhead = () => this.#months.makeAhead(now());
    // What fails is tried again by the first sample of the month.
    this.#makingMonths = setInterval(() => this.makeMonthsAhead().catch(() => {}), MAKE_MONTHS_EVERY);
    this.#makingMonths.unref();
  }

  override sampleCount(): Promise<number> {
    return sampleCount(this.sql);
  }

  override acceptedAnswer(id: string): Promise<SampleAnswer | null> {
    return acceptedAnswer(this.sql, id);
  }

  transaction<T>(
    work: (transaction: StoreTransaction) => Promise<T>,
    streams?: readonly string[],
    sampleId?: string,
  ): Promise<T> {
    const result = this.#attempts(work, streams ?? null, sampleId ?? null);
    this.#running.add(result);
    const ended = (): void => {
      this.#running.delete(result);
    };
    result.then(ended, ended);
    return result;
  }

  async #attempts<T>(
    work: (transaction: StoreTransaction) => Promise<T>,
    streams: readonly string[] | null,
    sampleId: string | null,
  ): Promise<T> {
    for (let attempt = 1; ; attempt++) {
      try {
        return await this.#run(work, streams, sampleId);
      } catch (error) {
        if (isOutsidePartitions(error)) this.#months.forget();
        else if (!isPassing(error)) throw error;
        if (attempt === MOST_ATTEMPTS) throw error;
      }
    }
  }

  async #run<T>(
    work: (transaction: StoreTransaction) => Promise<T>,
    streams: readonly string[] | null,
    sampleId: string | null,
  ): Promise<T> {
    if (this.#closed) throw new ProblemError(503, 'Not stored', 'The server is stopping; try again soon.');
    let stage: Stage = 'writing';
    let client: pg.PoolClient | null = null;
    let broken = false;
    try {
      client = await this.#writers.connect();
      const sql = new TransactionSql(new PostgresSql(client));
      const memory = new TransactionMemory(streams);
      const begun = await this.#begin({ client, sql, streams, sampleId, memory });
      const transaction = new PostgresTransaction({
        sql,
        plant: this.#plant,
        memory,
        months: this.#months,
        ...begun,
      });
      const result = await work(transaction);
      await transaction.finish();
      stage = 'committing';
      const [{ command }] = await Promise.all([client.query('commit'), sql.done()]);
      if (command !== 'COMMIT') throw new Error('The transaction had failed before its commit.');
      if (!transaction.changedPlant) this.#memory.keep(memory.streams, begun.plantRevision);
      return result;
    } catch (error) {
      broken = isBroken(error);
      if (client !== null && !broken) {
        await client.query('rollback').catch(() => {
          broken = true;
        });
      }
      throw asRefusal(error, stage);
    } finally {
      client?.release(broken);
    }
  }

  /**
   * Begins, and takes the locks, always in this order so that no two wait for each other: the plant (shared, or
   * alone where no streams are named), then the streams in the order of their keys, then rows. Whoever holds a
   * stream's lock is the only one that judges it, on whatever node. What is asked first travels along.
   */
  async #begin({ client, sql, streams, sampleId, memory }: Beginning): Promise<Begun> {
    const named = [...new Set(streams ?? [])];
    const keys = named.map((stream) => advisoryKey('stream', this.#plantNumber, stream)).sort();
    // What is read after a lock was granted sees what its last holder has written.
    const begun = client.query(begin);
    const locked = [
      sql.run(streams === null ? lock : lockShared, advisoryKey('plant', this.#plantNumber)),
      ...keys.map((key) => sql.run(lock, key)),
    ];
    // Without a stream for the revision alone.
    const begunStreams = (named.length === 0 ? [null] : named).map((stream) =>
      sql.one<BegunStream>(beginStream, stream),
    );
    const [answer, rows] = await Promise.all([
      sampleId === null ? null : acceptedAnswer(sql, sampleId),
      Promise.all(begunStreams),
      begun,
      ...locked,
    ]);
    const plantRevision = rows[0]!.revision;
    for (const [index, stream] of named.entries()) {
      const { no, digest } = rows[index]!;
      const head = no === null || digest === null ? { no: 0, digest: GENESIS } : { no, digest };
      memory.streams.set(stream, this.#memory.take(stream, head, plantRevision));
    }
    return {
      plantRevision,
      // One for each stream; counted on as they are used.
      numbers: rows.map((row) => row!.sampleNo),
      asked: sampleId === null ? null : { sampleId, answer },
    };
  }

  async bytes(): Promise<number> {
    const size = 'select pg_database_size(current_database()) as bytes';
    return Number((await this.sql.one<{ bytes: number }>(size))?.bytes ?? 0);
  }

  async close(): Promise<void> {
    this.#closed = true;
    clearInterval(this.#makingMonths);
    await Promise.allSettled(this.#running);
    await Promise.all([this.#readers.end(), this.#writers.end()]);
  }
}

/**
 * Opens the plant in a PostgreSQL database, and brings the database to the newest schema first. Several servers may
 * do so at the same time.
 *
 * @throws DatabaseUnusable in one sentence
 */
export async function openPostgresStore(to: PostgresAddress, now: () => number = Date.now): Promise<Store> {
  const client = await connect(to);
  try {
    await refuseUnsafe(client);
    await migrate(client);
  } finally {
    await client.end();
  }
  const store = new PostgresStore(to, now);
  await store.makeMonthsAhead();
  return store;
}

/** The same for a database that is known to be ready. */
export const postgresStoreAt = (to: PostgresAddress): Store => new PostgresStore(to, Date.now);
