/**
 * The same samples through the whole path on both engines, on the disk, each against a bare durable insert of the
 * same row: one client, 16 clients, and an import. Prints samples a second and the share of the bare insert.
 */
import { randomBytes } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pg from 'pg';
import { createMonitoring, type Monitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { connectionConfig, type PostgresAddress } from '../../api/store/postgres-connection.ts';
import { PostgresSql } from '../../api/store/postgres-sql.ts';
import type { Sql } from '../../api/store/sql.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import type { Store } from '../../api/store/store.ts';
import { startCluster } from '../postgres/cluster.ts';
import { by, freezeAll, live, processAtRest, records, submissionsFrom } from './path.ts';

const ROUNDS = 5;
const SAMPLES = 320;
const IMPORTED = 4_000;
const CLIENTS = 16;

interface Subject {
  readonly name: string;
  readonly store: Store;
  readonly monitoring: Monitoring;
  /** Connections that insert by themselves; one transaction each row. */
  readonly bare: readonly Sql[];
  /** Runs inserts in one transaction. */
  readonly together: (work: (sql: Sql) => Promise<void>) => Promise<void>;
  readonly close: () => Promise<void>;
}

const clock = { time: live, now: () => clock.time };

async function subject(name: string, store: Store, more: Pick<Subject, 'bare' | 'together' | 'close'>) {
  const monitoring = createMonitoring({ store, clock, feed: createChangeFeed() });
  for (const record of records) await monitoring.savePlantRecord(record, '', by);
  await freezeAll(monitoring);
  return { name, store, monitoring, ...more };
}

async function sqliteSubject(folder: string): Promise<Subject> {
  const store = openSqliteStore(join(folder, 'plant.sqlite'));
  // Over the very connection that the path writes with.
  const sql = await store.transaction(async (transaction) => transaction.sql);
  return subject('SQLite', store, {
    bare: [sql],
    async together(work) {
      await sql.run('begin immediate');
      await work(sql);
      await sql.run('commit');
    },
    close: () => store.close(),
  });
}

async function postgresSubject(to: PostgresAddress): Promise<Subject> {
  const store = await openPostgresStore(to);
  const clients = Array.from({ length: CLIENTS }, () => new pg.Client(connectionConfig(to)));
  for (const client of clients) await client.connect();
  const bare = clients.map((client) => new PostgresSql(client));
  return subject('PostgreSQL', store, {
    bare,
    async together(work) {
      await clients[0]!.query('begin');
      await work(bare[0]!);
      await clients[0]!.query('commit');
    },
    async close() {
      for (const client of clients) await client.end();
      await store.close();
    },
  });
}

let taken = 0;
const next = processAtRest(7);

function fresh(count: number) {
  const submissions = submissionsFrom(next, taken, count);
  taken += count;
  clock.time = Math.max(clock.time, Date.parse(submissions.at(-1)!.takenAt));
  return submissions;
}

/** Samples a second. */
async function timed(count: number, work: () => Promise<unknown>): Promise<number> {
  const start = performance.now();
  await work();
  return (count / (performance.now() - start)) * 1000;
}

/** Each client takes the next of them when it is done with one. */
async function shared<T>(
  items: readonly T[],
  clients: number,
  work: (item: T, client: number) => Promise<unknown>,
) {
  let index = 0;
  const one = async (client: number): Promise<void> => {
    while (index < items.length) await work(items[index++]!, client);
  };
  await Promise.all(Array.from({ length: clients }, (_, client) => one(client)));
}

async function bareInsert(store: Store) {
  const row = (await store.sql.one<Record<string, unknown>>(
    'select * from samples order by no desc limit 1',
  ))!;
  const columns = Object.keys(row).filter((name) => name !== 'no' && name !== 'plant');
  const insert = `insert into samples (${columns}) values (${columns.map(() => '?')})`;
  // Nobody reads these: a stream of their own.
  return (sql: Sql, index: number) =>
    sql.run(
      insert,
      ...columns.map((name) =>
        name === 'id'
          ? randomBytes(16)
          : name === 'stream_id'
            ? `bare-${index % 24}`
            : name === 'taken_at'
              ? live + index
              : row[name],
      ),
    );
}

const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!;

async function measure({ name, store, monitoring, bare, together }: Subject): Promise<void> {
  for (const submission of fresh(100)) await monitoring.accept(submission, by);
  const insert = await bareInsert(store);
  const indexes = Array.from({ length: SAMPLES }, (_, index) => index);
  const figures = new Map<string, { path: number[]; bare: number[]; work: number[] }>();
  const note = (what: string, path: number, plain: number, work: number): void => {
    const found = figures.get(what) ?? { path: [], bare: [], work: [] };
    found.path.push(path);
    found.bare.push(plain);
    found.work.push(work);
    figures.set(what, found);
  };
  /** Processor time of this process in microseconds a sample: it stays the same on a busy machine. */
  const working = async (count: number, work: () => Promise<number>): Promise<[number, number]> => {
    const before = process.cpuUsage();
    const rate = await work();
    const { user, system } = process.cpuUsage(before);
    return [rate, (user + system) / count];
  };
  for (let round = 0; round < ROUNDS; round++) {
    for (const clients of [1, CLIENTS]) {
      const submissions = fresh(SAMPLES);
      const [path, work] = await working(SAMPLES, () =>
        timed(SAMPLES, () => shared(submissions, clients, (submission) => monitoring.accept(submission, by))),
      );
      const plain = await timed(SAMPLES, () =>
        shared(indexes, clients, (index, client) => insert(bare[client % bare.length]!, index)),
      );
      note(`${clients} client${clients === 1 ? '' : 's'}`, path, plain, work);
    }
  }
  for (let round = 0; round < 2; round++) {
    const imported = fresh(IMPORTED);
    const [path, work] = await working(IMPORTED, () =>
      timed(IMPORTED, () => monitoring.acceptAll(imported, by)),
    );
    const plain = await timed(IMPORTED, () =>
      together(async (sql) => {
        for (let index = 0; index < IMPORTED; index++) await insert(sql, index);
      }),
    );
    note('import', path, plain, work);
  }
  for (const [what, { path, bare: plain, work }] of figures) {
    const ratio = median(path.map((value, index) => value / plain[index]!));
    const cells = [
      name.padEnd(11),
      what.padEnd(11),
      median(path).toFixed(0).padStart(10),
      median(plain).toFixed(0).padStart(10),
      ratio.toFixed(3).padStart(10),
      median(work).toFixed(0).padStart(12),
    ];
    console.log(cells.join(' '));
  }
}

export async function run(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-engines-'));
  const cluster = await startCluster({ onDisk: true });
  console.log('engine      what         path 1/s   bare 1/s      ratio  own work µs');
  try {
    const address = await cluster.makeDatabase();
    for (const begin of [() => sqliteSubject(folder), () => postgresSubject({ address, plant: 1 })]) {
      const opened = await begin();
      await measure(opened);
      await opened.close();
    }
  } finally {
    await cluster.stop();
    rmSync(folder, { recursive: true });
  }
}
