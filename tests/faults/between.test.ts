/** The server is killed between its commit and its answer: what its sender then does must find the work done once. */
import { randomUUID } from 'node:crypto';
import { setTimeout as wait } from 'node:timers/promises';
import { expect, it } from 'vitest';
import type { LimitsVersion, SampleAnswer } from '../../api/schemas.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { type Board, openBoard } from './board.ts';
import { retryingClient } from './client.ts';
import { passingFolder } from './engine.ts';
import { fillPlant, models, NOMINAL, STANDARD_DEVIATION, streamOf } from './plant.ts';
import { startCable, startPostgres } from './postgres-node.ts';
import { LINE, runningPlant, widths } from './running-plant.ts';
import { builtServer, type ServerProcess, startProcess } from './server-process.ts';

const limits = () => ({
  streamId: streamOf(LINE),
  modelId: models[0],
  status: 'approved',
  source: { kind: 'given', mean: NOMINAL + 0.01, withinSubgroupStandardDeviation: STANDARD_DEVIATION },
  effectiveFrom: new Date(Date.now() - 500).toISOString(),
  reason: 'Rolls changed',
  secondSignature: { personId: 'quality' },
});
const event = () => ({
  id: randomUUID(),
  lineId: LINE,
  stationId: null,
  streamId: null,
  kind: 'note',
  at: new Date().toISOString(),
  until: null,
  modelId: null,
  lot: null,
  text: 'Swept',
});

/** In the server's process: the first commit after a statement with these words is the last thing it does. */
const dieAfterCommitOf = (words: string): string =>
  `data:text/javascript,${encodeURIComponent(`
    import { createRequire } from 'node:module';
    const { prototype } = createRequire(${JSON.stringify(builtServer)})('better-sqlite3');
    const { prepare } = prototype;
    let armed = false;
    prototype.prepare = function (text) {
      const statement = prepare.call(this, text);
      for (const name of ['run', 'get', 'all']) {
        const plain = statement[name];
        statement[name] = (...parameters) => {
          const result = plain.apply(statement, parameters);
          if (text.includes(${JSON.stringify(words)})) armed = true;
          if (text === 'commit' && armed) process.kill(process.pid, 'SIGKILL');
          return result;
        };
      }
      return statement;
    };
  `)}`;

it.each([
  { what: 'a sample with its own id', path: '/api/samples', sent: widths(), key: null },
  { what: 'a sample under a key', path: '/api/samples', sent: widths(), key: randomUUID() },
  { what: 'new limits under a key', path: '/api/limits', sent: limits(), key: randomUUID() },
  {
    what: 'a message under a key',
    path: '/api/routing/recipients/trial/test',
    sent: undefined,
    key: randomUUID(),
  },
])('killed after the commit of $what: sent again, it is there once', async ({ path, sent, key }) => {
  const words = key === null ? 'insert into samples' : 'update idempotency_keys set answer';
  const dying = { nodeArguments: ['--import', dieAfterCommitOf(words)] };
  const plant = await runningPlant(dying, passingFolder());
  const client = retryingClient(() => plant.server.address);
  expect(await client.attempt('POST', path, 'engineer', sent, key)).toBeNull();
  expect(await plant.server.ended).toMatchObject({ signal: 'SIGKILL' });

  const rows = async (): Promise<unknown> => {
    const store = await plant.engine.open();
    const count = async (table: string) =>
      (await store.sql.one<{ count: number }>(`select count(*) as count from ${table}`))!.count;
    const all = [await count('samples'), await count('limits_versions'), await count('deliveries')];
    await store.close();
    return all;
  };
  const stored = await rows();
  await plant.restart();
  const first = await client.send('POST', path, 'engineer', sent, key);
  expect(first.status, JSON.stringify(first.body)).toBe(200);
  expect(await client.send('POST', path, 'engineer', sent, key)).toEqual(first);
  plant.server.kill('SIGKILL');
  await plant.server.ended;
  expect(await rows()).toEqual(stored);
  expect(await plant.engine.damage()).toEqual([]);
  await plant.end();
});

it('killed between its commit and telling the other nodes, with nothing acknowledged: the retry tells them, once', async () => {
  const node = await startPostgres();
  const cable = await startCable(node.port);
  const store = await openPostgresStore({ address: node.address, plant: 1 });
  await fillPlant(store, [LINE], Date.now());
  const address = new URL(node.address);
  const start = async (port: number): Promise<ServerProcess> => {
    address.port = String(port);
    const server = startProcess({
      environment: { DATA_DIR: passingFolder(), DATABASE_URL: address.href },
    });
    await server.ready;
    return server;
  };
  const other = await start(node.port);
  // A third node hears of it from the database alone.
  const third = await start(node.port);
  const told = (board: Board, kind: string, is: (change: Record<string, unknown>) => boolean) => {
    const changes = board.lines().map((line) => JSON.parse(line) as Record<string, unknown>);
    return changes.filter((change) => change.kind === kind && is(change)).length;
  };

  const sample = widths();
  const note = event();
  const cases = [
    {
      path: '/api/samples',
      sent: sample,
      key: null,
      kind: 'sample',
      is: (change: Record<string, unknown>) => change.sampleId === sample.id,
      stored: async () => (await store.sampleCount()) === 1,
    },
    {
      path: '/api/events',
      sent: note,
      key: null,
      kind: 'event',
      is: () => true,
      stored: async () => (await store.event(note.id)) !== null,
    },
    {
      path: '/api/limits',
      sent: limits(),
      key: randomUUID(),
      kind: 'limits',
      is: () => true,
      stored: async () => (await store.limitsVersions(streamOf(LINE), models[0])).length === 2,
    },
  ];
  for (const { path, sent, key, kind, is, stored } of cases) {
    const dying = await start(cable.port);
    // What it says to the others is what comes with the words of the channel.
    const silenced = cable.holdBefore('pg_notify');
    const boards = await Promise.all([other, third].map(({ address }) => openBoard(address!, true)));
    const unanswered = retryingClient(() => dying.address).attempt('POST', path, 'engineer', sent, key);
    await silenced;
    expect(await stored()).toBe(true);
    dying.kill('SIGKILL');
    await dying.ended;
    expect(await unanswered).toBeNull();
    // It is stored, and nobody has heard of it.
    await wait(50);
    for (const board of boards) expect(told(board, kind, is)).toBe(0);

    const again = await retryingClient(() => other.address).send('POST', path, 'engineer', sent, key);
    expect(again.status, JSON.stringify(again.body)).toBe(200);
    for (const board of boards) {
      for (let waited = 0; told(board, kind, is) === 0; waited++) {
        expect(waited, 'a board hears of it').toBeLessThan(1500);
        await wait(20);
      }
      expect(told(board, kind, is)).toBe(1);
      board.close();
    }
    expect(await stored()).toBe(true);
    const { body } = await retryingClient(() => third.address).send('POST', path, 'engineer', sent, key);
    expect(body as SampleAnswer | LimitsVersion).toEqual(again.body);
    expect(await stored()).toBe(true);
  }
  for (const each of [other, third]) {
    each.kill('SIGKILL');
    await each.ended;
  }
  await store.close();
  await cable.end();
  await node.end();
}, 120_000);
