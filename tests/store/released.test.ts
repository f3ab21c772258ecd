/** Databases of every released schema, with rows, are brought to the newest and go on. */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { expect, it } from 'vitest';
import { adoptRecords } from '../../api/audit/adopt-records.ts';
import { verifyChain } from '../../api/audit/verify-chain.ts';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { movePlant } from '../../api/move/move-plant.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { connect } from '../../api/store/postgres-connection.ts';
import { migrate } from '../../api/store/postgres-migrate.ts';
import { lookups } from '../../api/store/schema/lookups.ts';
import { schemaSteps } from '../../api/store/schema/steps.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import type { Store } from '../../api/store/store.ts';
import { minutes, morning, tech, widths } from '../api/test-plant.ts';
import { emptyDatabase } from '../postgres/databases.ts';

const released = new URL('./released/', import.meta.url);
const wide = { from: 0, to: Number.MAX_SAFE_INTEGER };

/** What the fixture was filled with, and a further sample that stands on it. */
async function goesOn(store: Store): Promise<void> {
  await adoptRecords(store);
  expect((await verifyChain(store.sql)).findings).toEqual([]);
  expect((await store.plantModel()).plant.name).toBe('Test works');
  expect(await store.sampleCount()).toBe(11);
  const samples = await store.samples('width', 'Q10', wide, 99);
  expect(samples).toHaveLength(11);
  expect(samples[3]).toMatchObject({ note: 'Grüße — "x"', lot: "L'1", mean: 127.1, limitsVersion: 1 });
  expect(samples[10]).toMatchObject({ revision: 2, mean: 127.2 });
  expect(await store.signals('width', 'Q10', wide)).toHaveLength(4);
  const [alarm] = await store.alarms({ limit: 9 });
  expect(alarm).toMatchObject({ streamId: 'width', modelId: 'Q10', acknowledgedAt: expect.any(Number) });
  expect(await store.alarmEntries(alarm!.id)).toHaveLength(3);
  expect(await store.events('R1', wide)).toMatchObject([{ kind: 'stoppage', until: morning - minutes(20) }]);
  expect(await store.missedSamples('force', wide)).toHaveLength(1);
  const clock = { now: () => morning + minutes(300) };
  const monitoring = createMonitoring({ store, clock, feed: createChangeFeed() });
  const { answer } = await monitoring.accept(widths(127.1, morning + minutes(300)), tech);
  // Above the mean like all before it: the run goes on over the migration.
  expect(answer.signals.map(({ rule }) => rule)).toEqual(['run-on-one-side']);
  expect((await verifyChain(store.sql)).findings).toEqual([]);
}

for (const name of readdirSync(released)) {
  it(`brings ${name} to the newest schema, in its file and on the way to PostgreSQL`, async () => {
    const folder = mkdtempSync(join(tmpdir(), 'runtrue-released-'));
    const file = join(folder, 'plant.sqlite');
    const before = new Database(file);
    before.exec(readFileSync(new URL(name, released), 'utf8'));
    before.close();
    const address = await emptyDatabase();
    await movePlant(file, { address, plant: 1 });
    const moved = await openPostgresStore({ address, plant: 1 });
    await goesOn(moved);
    await moved.close();
    const store = openSqliteStore(file);
    await goesOn(store);
    await store.close();
    rmSync(folder, { recursive: true });
  });
}

it('changes no step that was released', () => {
  const schemaOf = (fill: (database: Database.Database) => void): unknown[] => {
    const database = new Database(':memory:');
    fill(database);
    return database.prepare('select type, name, tbl_name, sql from sqlite_master order by name').all();
  };
  const types = {
    counted: 'integer primary key',
    integer: 'integer',
    real: 'real',
    bytes: 'blob',
    strict: 'strict',
    strictByKey: 'strict, without rowid',
  };
  for (const [index, name] of readdirSync(released).entries()) {
    const now = schemaOf((database) => {
      for (const step of schemaSteps.slice(0, index + 1)) database.exec(step(types));
    });
    expect(now).toEqual(schemaOf((database) => database.exec(readFileSync(new URL(name, released), 'utf8'))));
  }
});

it('brings a PostgreSQL database of each schema to the newest, with the rows of all its plants', async () => {
  // The first that a plant was ever kept in is the one with months.
  for (let version = schemaSteps.indexOf(lookups) + 1; version < schemaSteps.length; version += 2) {
    const address = await emptyDatabase();
    for (const plant of [1, 2]) {
      const client = await connect({ address, plant });
      await migrate(client, schemaSteps.slice(0, version));
      await client.query(
        'insert into missed_samples (stream_id, due_at, reason, person_id, at) values ($1, 1, $1, $1, $2)',
        ['width', plant],
      );
      await client.end();
    }
    for (const plant of [1, 2]) {
      const store = await openPostgresStore({ address, plant });
      expect(await store.missedSamples('width', wide)).toMatchObject([{ at: plant }]);
      await store.close();
    }
  }
});
