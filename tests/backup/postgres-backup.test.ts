/** A plant in PostgreSQL is backed up while it is written to, and goes on in a file. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { verifyChain } from '../../api/audit/verify-chain.ts';
import { restoreBackup } from '../../api/backup/restore-backup.ts';
import { takeBackup } from '../../api/backup/take-backup.ts';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { movePlant } from '../../api/move/move-plant.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import type { SampleAnswer } from '../../api/schemas.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { SqliteSql } from '../../api/store/sqlite-sql.ts';
import type { Store } from '../../api/store/store.ts';
import { by, fillPlant, models, NOMINAL, streamOf } from '../faults/plant.ts';
import { startPostgres } from '../faults/postgres-node.ts';
import { LINE, widths } from '../faults/running-plant.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-postgres-backup-'));
let node: Awaited<ReturnType<typeof startPostgres>>;
let store: Store;
beforeAll(async () => {
  node = await startPostgres();
  store = await openPostgresStore({ address: node.address, plant: 1 });
});
afterAll(async () => {
  await store.close();
  await node.end();
  rmSync(folder, { recursive: true });
});

it('holds one moment of it, and a server on a file goes on from there', async () => {
  await fillPlant(store, [LINE, 'L2'], Date.now());
  const clock = { now: () => Date.now() };
  const monitoring = createMonitoring({ store, clock, feed: createChangeFeed() });
  const answers = new Map<string, SampleAnswer>();
  let over = false;
  const storm = Promise.all(
    [LINE, 'L2'].map(async (line) => {
      for (let number = 0; !over; number++) {
        const sample = widths(NOMINAL + (number % 11 === 0 ? 0.6 : 0), { streamId: streamOf(line) });
        answers.set(sample.id, (await monitoring.accept(sample, by('tech'))).answer);
      }
    }),
  );
  while (answers.size < 200) await Promise.race([new Promise((done) => setTimeout(done, 5)), storm]);
  const before = [...answers.keys()];
  const source = { databaseAddress: node.address, file: '' };
  const { file, manifest } = await takeBackup(source, join(folder, 'backups'), Date.now());
  over = true;
  await storm;
  expect(manifest.from).toBe('postgres');
  expect(answers.size).toBeGreaterThan(before.length);

  await restoreBackup(file, join(folder, 'data'), 'plant.sqlite');
  const restored = openSqliteStore(join(folder, 'data', 'plant.sqlite'));
  for (const id of before) expect(await restored.acceptedAnswer(id)).toEqual(answers.get(id));
  expect(await restored.plantModel()).toEqual(await store.plantModel());
  const ever = { from: 0, to: Number.MAX_SAFE_INTEGER };
  const kept = await restored.samples(streamOf(LINE), models[0], ever, 100_000);
  const ids = new Set(kept.map(({ id }) => id));
  const all = await store.samples(streamOf(LINE), models[0], ever, 100_000);
  expect(kept).toEqual(all.filter(({ id }) => ids.has(id)));
  const signals = await restored.signals(streamOf(LINE), models[0], ever);
  expect(signals.length).toBeGreaterThan(0);

  const database = new Database(join(folder, 'data', 'plant.sqlite'), { readonly: true });
  expect((await verifyChain(new SqliteSql(database))).findings).toEqual([]);
  database.close();
  // What comes next joins the chain and the numbers of what is there.
  const goesOn = createMonitoring({ store: restored, clock, feed: createChangeFeed() });
  const { answer } = await goesOn.accept(widths(), by('tech'));
  expect(await restored.acceptedAnswer(answer.sampleId)).toEqual(answer);
  const again = new Database(join(folder, 'data', 'plant.sqlite'), { readonly: true });
  expect((await verifyChain(new SqliteSql(again))).findings).toEqual([]);
  again.close();
  await restored.close();

  // Or on a database server again, here as another plant of the same one.
  const to = { address: node.address, plant: 2 };
  await movePlant(join(folder, 'data', 'plant.sqlite'), to);
  const moved = await openPostgresStore(to);
  for (const id of before) expect(await moved.acceptedAnswer(id)).toEqual(answers.get(id));
  const there = createMonitoring({ store: moved, clock, feed: createChangeFeed() });
  const last = await there.accept(widths(), by('tech'));
  expect(await moved.acceptedAnswer(last.answer.sampleId)).toEqual(last.answer);
  await moved.close();
});
