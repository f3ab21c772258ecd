import Database from 'better-sqlite3';
import { expect, it } from 'vitest';
import { verifyChain } from '../../api/audit/verify-chain.ts';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { MoveProblem, movePlant } from '../../api/move/move-plant.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { loadDemoPlant } from '../../demo-data/load.ts';
import { minutes, morning, openTestPlant, take } from '../api/test-plant.ts';
import { emptyDatabase } from '../postgres/databases.ts';
import { databasesOf } from '../store/engines.ts';

const newDatabase = await databasesOf('sqlite');
const wide = { from: 0, to: Number.MAX_SAFE_INTEGER };

it('arrives whole, with all that was ever recorded, and goes on where it was', async () => {
  const database = newDatabase();
  const store = database.open();
  let now = 0;
  const clock = { now: () => now };
  const setClock = (next: { now(): number }): void => {
    clock.now = next.now;
  };
  const monitoring = createMonitoring({ store, clock: { now: () => clock.now() }, feed: createChangeFeed() });
  // The first days of the demo plant: limits, signals, alarms, corrections, events.
  await loadDemoPlant({ store, monitoring, setClock }, { until: Date.parse('2025-09-09T16:00:00Z') });
  now = clock.now();
  const model = await store.plantModel();
  const read = async (from: typeof store) =>
    Promise.all([
      from.plantModel(),
      from.sampleCount(),
      from.alarms({ limit: 1000 }),
      ...model.streams.flatMap(({ id }) =>
        model.models.flatMap((one) => [
          from.samples(id, one.id, wide, 10_000),
          from.signals(id, one.id, wide),
          from.limitsVersions(id, one.id),
        ]),
      ),
      ...model.lines.map(({ id }) => from.events(id, wide)),
    ]);
  const before = await read(store);
  expect(before[1]).toBeGreaterThan(500);
  await store.close();

  const address = await emptyDatabase();
  // Another plant is there already.
  await (await openPostgresStore({ address, plant: 1 })).close();
  const moved = await movePlant(database.file, { address, plant: 2 });
  const rows = new Map(moved.map((table) => [table.name, table.rows]));
  for (const name of [
    'samples',
    'signals',
    'alarms',
    'alarm_entries',
    'events',
    'sample_revisions',
    'restarts',
    'restart_entries',
  ]) {
    expect(rows.get(name), name).toBeGreaterThan(0);
  }
  const arrived = await openPostgresStore({ address, plant: 2 });
  expect(await read(arrived)).toEqual(before);
  expect((await verifyChain(arrived.sql)).findings).toEqual([]);

  await expect(movePlant(database.file, { address, plant: 2 })).rejects.toThrow(
    /not empty.*nothing was moved/,
  );
  // It goes on: numbers that are free, and a chain that continues.
  const next = createMonitoring({ store: arrived, clock, feed: createChangeFeed() });
  const stream = model.streams.find(({ characteristicId }) => characteristicId === 'C5')!;
  const newest = (await arrived.latestSample(stream.id))!;
  const { answer } = await next.accept(
    {
      id: crypto.randomUUID(),
      streamId: newest.streamId,
      modelId: newest.modelId,
      takenAt: new Date(now).toISOString(),
      unit: model.characteristics.find(({ id }) => id === stream.characteristicId)!.unit,
      readings: newest.readings!.map(({ value }) => ({ value })),
    } as never,
    { personId: model.people[0]!.id, door: 'page', how: 'named', secondPersonId: null } as never,
  );
  expect(await arrived.sampleCount()).toBe((before[1] as number) + 1);
  expect((await arrived.sample(answer.sampleId))?.no).toBeGreaterThan(newest.no);
  expect((await verifyChain(arrived.sql)).findings).toEqual([]);
  await arrived.close();
  database.remove();
});

it('moves nothing where a table arrives otherwise than it was sent, or where there is no file', async () => {
  const address = await emptyDatabase();
  await expect(movePlant('/nowhere/plant.sqlite', { address, plant: 1 })).rejects.toThrow(MoveProblem);
  const database = newDatabase();
  const plant = await openTestPlant(database);
  for (let index = 0; index < 3; index++) await take(plant, 127, morning + minutes(index));
  const store = await openPostgresStore({ address, plant: 1 });
  // Somebody's trigger changes what is stored.
  await store.transaction(({ sql }) =>
    sql.run(
      `create function spoil() returns trigger language plpgsql as 'begin new.note := ''x''; return new; end'`,
    ),
  );
  await store.transaction(({ sql }) =>
    sql.run('create trigger spoil before insert on samples for each row execute function spoil()'),
  );
  const moving = movePlant(database.file, { address, plant: 1 });
  await expect(moving).rejects.toThrow(/samples did not arrive as it was sent.*nothing was moved/);
  expect(await store.sampleCount()).toBe(0);
  expect(await store.plantRevision()).toBe(0);
  await store.close();
  await plant.close();
});

it('reads the file of a running server in one state, and leaves it as it is', async () => {
  const database = newDatabase();
  const plant = await openTestPlant(database);
  await take(plant, 127, morning);
  const version = () =>
    new Database(database.file, { readonly: true }).pragma('user_version', { simple: true });
  const before = version();
  const address = await emptyDatabase();
  const moved = await movePlant(database.file, { address, plant: 1 });
  expect(moved.find(({ name }) => name === 'samples')?.rows).toBe(1);
  expect(version()).toBe(before);
  await take(plant, 127, morning + minutes(1));
  await plant.close();
});
