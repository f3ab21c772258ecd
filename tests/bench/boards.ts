/**
 * How soon boards hear of a sample, over real servers and sockets: one server on SQLite, and two on one PostgreSQL,
 * where samples are sent to one and the boards listen at the other. RUNTRUE_BENCH_BOARDS and _SECONDS for a quick look.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import type { Store } from '../../api/store/store.ts';
import { type ServerProcess, startProcess } from '../faults/server-process.ts';
import { startCluster } from '../postgres/cluster.ts';
import { generateLoad, printLoad } from './load/generate-load.ts';
import { by, freezeAll, live, records } from './path.ts';

const boards = Number(process.env.RUNTRUE_BENCH_BOARDS ?? 200);
const seconds = Number(process.env.RUNTRUE_BENCH_SECONDS ?? 20);
/** Far below what the server can take: what counts here is the delay, not the queue. */
const RATE = 10;

async function fill(store: Store): Promise<void> {
  const clock = { now: () => live };
  const monitoring = createMonitoring({ store, clock, feed: createChangeFeed() });
  for (const record of records) await monitoring.savePlantRecord(record, '', by);
  await freezeAll(monitoring);
  await store.close();
}

async function measure(name: string, address: string, boardAddress: string): Promise<void> {
  const load = { address, boardAddress, headers: { 'Runtrue-Person': by.personId } };
  printLoad(
    `${name}, ${boards} boards, ${RATE} samples a second`,
    await generateLoad({ ...load, clients: 4, boards, seconds, rate: RATE }),
  );
  for (const clients of [1, 16])
    printLoad(
      `${name}, no board, ${clients} ${clients === 1 ? 'client' : 'clients'} as fast as they can`,
      await generateLoad({ ...load, clients, boards: 0, seconds: seconds / 4, rate: 0 }),
    );
}

async function ended(server: ServerProcess): Promise<void> {
  server.kill('SIGTERM');
  await server.ended;
}

export async function run(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-boards-'));
  try {
    await fill(openSqliteStore(join(folder, 'plant.sqlite')));
    const server = startProcess({ environment: { DATA_DIR: folder } });
    const address = await server.ready;
    await measure('SQLite, one server', address, address);
    await ended(server);

    const cluster = await startCluster({ onDisk: true });
    try {
      const database = await cluster.makeDatabase();
      await fill(await openPostgresStore({ address: database, plant: 1 }));
      const nodes = ['one', 'two'].map((name) =>
        startProcess({ environment: { DATABASE_URL: database, DATA_DIR: join(folder, name) } }),
      );
      const [first, second] = await Promise.all(nodes.map(({ ready }) => ready));
      await measure('PostgreSQL, sent to one server, boards at another', first!, second!);
      for (const node of nodes) await ended(node);
    } finally {
      await cluster.stop();
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
