/** PostgreSQL as the database of a real server: killed, cut off, lost and replaced by its standby. */
import { setTimeout as wait } from 'node:timers/promises';
import { expect, it } from 'vitest';
import type { Problem } from '../../api/schemas.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { retryingClient } from './client.ts';
import { passingFolder, postgresEngine, sqliteEngine } from './engine.ts';
import { runKills } from './kills.ts';
import { fillPlant } from './plant.ts';
import { startPostgres } from './postgres-node.ts';
import { compare } from './replay.ts';
import { widths } from './running-plant.ts';
import { type ServerProcess, startProcess } from './server-process.ts';
import { lineWriter, sampleWriter, seededRandom } from './writers.ts';

const KILLS = 4;

it(`loses nothing over ${KILLS} kills of the server, of the database and of both`, async () => {
  const engine = await postgresEngine();
  // The replay runs on the other engine: both judge alike.
  const replayEngine = sqliteEngine(passingFolder());
  const result = await runKills({ engine, replayEngine, kills: KILLS, seed: 3, leastWrites: 100 });
  await replayEngine.end();
  await engine.end();
  expect(result.problems).toEqual([]);
  expect(result.samples).toBeGreaterThan(50);
  expect(result.killed.database! + result.killed.both! + result.killed.connections!).toBeGreaterThan(0);
}, 240_000);

it('a primary that is lost is replaced by its synchronous standby, which has all that was acknowledged', async () => {
  const begin = Date.now();
  const lines = ['L1', 'L2'];
  const primary = await startPostgres();
  await primary.stop();
  const standby = await primary.makeStandby('second');
  await primary.start();
  await standby.start();
  // From now on nothing is acknowledged that the standby does not have.
  await primary.query(`alter system set synchronous_standby_names = 'second'`);
  await primary.query('select pg_reload_conf()');
  const isSynchronous = async (): Promise<boolean> =>
    (await primary.query(`select 1 from pg_stat_replication where sync_state = 'sync'`)).length === 1;
  for (let waited = 0; !(await isSynchronous()); waited++) {
    expect(waited).toBeLessThan(600);
    await wait(100);
  }
  const first = await openPostgresStore({ address: primary.address, plant: 1 });
  await fillPlant(first, lines, begin);
  await first.close();

  const serverOn = (address: string): ServerProcess =>
    startProcess({ environment: { DATA_DIR: passingFolder(), DATABASE_URL: address } });
  let server = serverOn(primary.address);
  await server.ready;
  const client = retryingClient(() => server.address);
  const writers = [
    lineWriter({ client, lineId: 'L1', random: seededRandom(11) }, begin),
    ...[12, 13].map((seed) => sampleWriter({ client, lineId: 'L2', random: seededRandom(seed) })),
  ];
  const written = (): number => writers.reduce((sum, { acts }) => sum + acts.length, 0);
  let stop = false;
  const work = Promise.all(
    writers.map(async (writer) => {
      while (!stop) await writer.step();
    }),
  );
  while (written() < 50) await Promise.race([wait(5), work]);
  await primary.kill(true);
  // The server says what it cannot do, and does not end.
  const refused = await fetch(`${server.address}/api/samples`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'tech' },
    body: JSON.stringify(widths()),
  });
  expect(refused.status).toBe(503);
  expect(((await refused.json()) as Problem).detail).toMatch(/database/);

  await standby.query('select pg_promote()');
  const address = new URL(primary.address);
  address.port = String(standby.port);
  server.kill('SIGTERM');
  expect((await server.ended).code).toBe(0);
  server = serverOn(address.href);
  await server.ready;
  const enough = written() + 20;
  while (written() < enough) await Promise.race([wait(5), work]);
  stop = true;
  await work;
  server.kill('SIGTERM');
  await server.ended;

  const store = await openPostgresStore({ address: address.href, plant: 1 });
  const replayEngine = sqliteEngine(passingFolder());
  const fresh = await replayEngine.open();
  const { problems, samples } = await compare(store, fresh, writers, lines, begin);
  expect(problems).toEqual([]);
  expect(samples).toBeGreaterThan(40);
  await store.close();
  await fresh.close();
  await replayEngine.end();
  await standby.end();
  await primary.end();
}, 240_000);
