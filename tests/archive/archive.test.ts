import { createHash } from 'node:crypto';
import { appendFileSync, cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { afterAll, describe, expect, it } from 'vitest';
import { ArchiveProblem } from '../../api/archive/archive-files.ts';
import { readArchive, releaseArchive, writeArchive } from '../../api/archive/archive-plant.ts';
import { archivesAway, shownArchive } from '../../api/archive/archives-away.ts';
import { archivedRows } from '../../api/audit/archived-rows.ts';
import { verifyChain } from '../../api/audit/verify-chain.ts';
import { restoreBackup } from '../../api/backup/restore-backup.ts';
import { takeBackup } from '../../api/backup/take-backup.ts';
import { movePlant } from '../../api/move/move-plant.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import type { PostgresAddress } from '../../api/store/postgres-connection.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import type { Store } from '../../api/store/store.ts';
import {
  engineer,
  event,
  freezeGiven,
  minutes,
  morning,
  openTestPlant,
  readingsAbout,
  refusal,
  type TestPlant,
  take,
  tech,
  widths,
} from '../api/test-plant.ts';
import { emptyDatabase } from '../postgres/databases.ts';
import { databasesOf, type TestDatabase } from '../store/engines.ts';

const wide = { from: 0, to: Number.MAX_SAFE_INTEGER };
const DAY = minutes(24 * 60);
const september = Date.parse('2025-09-01T00:00:00Z');
const root = mkdtempSync(join(tmpdir(), 'runtrue-archive-'));
afterAll(() => rmSync(root, { recursive: true }));
let folders = 0;
const newFolder = (): string => join(root, String(folders++));

/** August and September, with signals, a correction and events in both. */
async function filled(database: TestDatabase): Promise<{ plant: TestPlant; old: string; recent: string }> {
  const plant = await openTestPlant(database);
  plant.clock.time = september - 6 * DAY;
  await freezeGiven(plant, september - 7 * DAY);
  const of = async (begin: number): Promise<string> => {
    for (let index = 0; index < 12; index++)
      await take(plant, 127.1 + (index % 2) * 0.4, begin + minutes(index));
    const { sampleId } = await take(plant, 127.9, begin + minutes(20), { note: 'Grüße', lot: 'L1' });
    await plant.monitoring.correct(
      sampleId,
      { id: crypto.randomUUID(), revision: 1, reason: 'slip', readings: readingsAbout(127.2) },
      tech,
    );
    await plant.monitoring.recordEvent(
      event({ at: new Date(begin).toISOString(), text: 'A note.' }),
      engineer,
    );
    return sampleId;
  };
  return { plant, old: await of(september - 5 * DAY), recent: await of(morning) };
}

const read = (store: Store) =>
  Promise.all([
    store.samples('width', 'Q10', wide, 1000),
    store.signals('width', 'Q10', wide),
    store.events('R1', wide),
    store.alarms({ limit: 9 }),
    store.sampleCount(),
  ]);

const archived = { before: september, plant: 1, now: Date.parse('2026-01-01') };

describe('old months in PostgreSQL', () => {
  it('become files, leave the database when the files are verified, and come back as they were', async () => {
    const address = await emptyDatabase();
    const to: PostgresAddress = { address, plant: 1 };
    const store = await openPostgresStore(to);
    const { plant, old, recent } = await filled({
      engine: 'postgres',
      file: '',
      address: to,
      open: () => store,
      remove: () => {},
    });
    const before = await read(store);
    const folder = newFolder();
    const files = await writeArchive(store.sql, { folder, ...archived });
    expect(files.map(({ file }) => file)).toEqual(
      ['samples', 'sample_revisions', 'signals', 'events'].map((table) => `${table}-2025_08.jsonl.gz`),
    );
    expect(files.map(({ rows }) => rows).slice(0, 2)).toEqual([13, 1]);
    const lines = gunzipSync(readFileSync(join(folder, files[0]!.file)))
      .toString()
      .trim()
      .split('\n');
    expect(lines).toHaveLength(13);
    expect(JSON.parse(lines[12]!)).toMatchObject({ stream_id: 'width', note: 'Grüße', lot: 'L1' });
    expect(await read(store)).toEqual(before);
    await expect(writeArchive(store.sql, { folder, ...archived })).rejects.toThrow(/not empty/);

    // A late sample of August: the months of the archive are no longer what was written.
    await take(plant, 127, september - 4 * DAY);
    const whole = await read(store);
    await expect(releaseArchive(store, 1, folder, archived)).rejects.toThrow(
      /samples of 2025_08 has changed/,
    );
    // A sample without its corrections would be worse than one that stays.
    expect(await read(store)).toEqual(whole);
    const second = newFolder();
    await writeArchive(store.sql, { folder: second, ...archived });
    await releaseArchive(store, 1, second, archived);
    // The chain of digests misses what is away, and takes it from the archive.
    expect((await verifyChain(store.sql)).findings).not.toEqual([]);
    const away = await archivedRows(second);
    expect((await verifyChain(store.sql, { archived: away })).findings).toEqual([]);
    const [name] = away.keys();
    const changed = new Map(away).set(name!, Buffer.alloc(32));
    expect((await verifyChain(store.sql, { archived: changed })).findings).toHaveLength(1);
    const [samples, signals, events] = await read(store);
    expect(samples.length).toBe(13);
    expect([...samples, ...signals].every(({ takenAt }) => takenAt >= september)).toBe(true);
    expect(events).toHaveLength(1);
    expect((await store.sample(recent))?.revision).toBe(2);
    expect(await store.sample(old)).toBeNull();
    // Its id is taken for ever.
    const again = widths(127, september - 3 * DAY, { id: old });
    expect(await refusal(plant.monitoring.accept(again, tech), 409, 'id')).toMatch(/archive/);
    // The month takes samples again, for this node as well, which knew its partitions.
    await take(plant, 127, september - 2 * DAY);

    await readArchive(store, second, to, archived);
    const [samplesAfter, ...after] = await read(store);
    const [wholeSamples, ...rest] = whole;
    expect(samplesAfter.filter(({ takenAt }) => takenAt !== september - 2 * DAY)).toEqual(wholeSamples);
    expect(after.slice(1, 3)).toEqual(rest.slice(1, 3));
    // Once more changes nothing.
    await readArchive(store, second, to, archived);
    expect((await read(store))[0]).toEqual(samplesAfter);
    await plant.close();
  });

  it('of one plant leave those of another where they are', async () => {
    const address = await emptyDatabase();
    const stores = await Promise.all([1, 2].map((plant) => openPostgresStore({ address, plant })));
    const plants = await Promise.all(
      stores.map((store) =>
        filled({ engine: 'postgres', file: '', address: null, open: () => store, remove: () => {} }),
      ),
    );
    const before = await read(stores[1]!);
    const folder = newFolder();
    await writeArchive(stores[0]!.sql, { folder, ...archived });
    await expect(releaseArchive(stores[1]!, 2, folder, archived)).rejects.toThrow(/of plant 1/);
    await releaseArchive(stores[0]!, 1, folder, archived);
    expect((await read(stores[0]!))[0]).toHaveLength(13);
    expect(await read(stores[1]!)).toEqual(before);
    for (const { plant } of plants) await plant.close();
  });
});

it('are named by a backup without them, and make a restored plant whole again', async () => {
  const address = await emptyDatabase();
  const to: PostgresAddress = { address, plant: 1 };
  const store = await openPostgresStore(to);
  const { plant, old } = await filled({
    engine: 'postgres',
    file: '',
    address: to,
    open: () => store,
    remove: () => {},
  });
  const before = await read(store);
  const folder = newFolder();
  const files = await writeArchive(store.sql, { folder, ...archived });
  await releaseArchive(store, 1, folder, archived);
  const backup = await takeBackup({ databaseAddress: address, file: '' }, newFolder(), archived.now);
  await plant.close();
  const manifestDigest = createHash('sha256')
    .update(readFileSync(join(folder, 'manifest.json')))
    .digest('hex');
  const rows = files.reduce((sum, file) => sum + file.rows, 0);
  const needed = [{ folder, manifestDigest, months: ['2025_08'], rows }];
  expect(backup.manifest.archives).toEqual(needed);

  const data = newFolder();
  const { manifest: restored } = await restoreBackup(backup.file, data, 'plant.sqlite');
  expect(restored.archives).toEqual(needed);
  expect(shownArchive(restored.archives![0]!)).toBe(
    `2025-08 in ${folder} (manifest.json with SHA-256 ${manifestDigest})`,
  );
  const file = join(data, 'plant.sqlite');
  const inFile = openSqliteStore(file);
  expect((await verifyChain(inFile.sql)).findings).not.toEqual([]);
  expect((await verifyChain(inFile.sql, { archived: await archivedRows(folder) })).findings).toEqual([]);
  await expect(movePlant(file, { address, plant: 2 })).rejects.toThrow(/2025-08 in .* read them back first/);
  // The archive may lie somewhere else by now.
  const elsewhere = newFolder();
  cpSync(folder, elsewhere, { recursive: true });
  await readArchive(inFile, elsewhere, null, archived);
  expect(await archivesAway(inFile.sql)).toEqual([]);
  expect(await read(inFile)).toEqual(before);
  expect((await verifyChain(inFile.sql)).findings).toEqual([]);
  await inFile.close();
  await movePlant(file, { address, plant: 2 });
  const moved = await openPostgresStore({ address, plant: 2 });
  expect(await read(moved)).toEqual(before);
  expect((await moved.sample(old))?.revision).toBe(2);
  await moved.close();
});

describe('old months of a plant in a file', () => {
  it('are the same files, as a copy, and are compared when they are read', async () => {
    const newDatabase = await databasesOf('sqlite');
    const { plant } = await filled(newDatabase());
    const before = await read(plant.store);
    const folder = newFolder();
    const files = await writeArchive(plant.store.sql, { folder, ...archived });
    expect(files).toHaveLength(4);
    await readArchive(plant.store, folder, null, archived);
    expect(await read(plant.store)).toEqual(before);
    // Somebody changed the plant.
    await plant.store.transaction(({ sql }) =>
      sql.run('update samples set note = ? where taken_at < ?', 'changed', september),
    );
    await expect(readArchive(plant.store, folder, null, archived)).rejects.toThrow(
      /samples .* another content/,
    );
    await plant.close();
  });

  it('are refused where a file or the manifest is not what was written', async () => {
    const newDatabase = await databasesOf('sqlite');
    const { plant } = await filled(newDatabase());
    const folder = newFolder();
    const [first] = await writeArchive(plant.store.sql, { folder, ...archived });
    const manifest = join(folder, 'manifest.json');
    const text = readFileSync(manifest, 'utf8');
    for (const [changed, words] of [
      [text.replace('"samples"', '"samples; drop"'), /no archive has/],
      [text.replace('samples-2025', '../samples-2025'), /no archive has/],
      [text.replace(first!.digest, '0'.repeat(64)), /not the .* rows which were written/],
      [text.replace('archive 1', 'archive 9'), /no archive of this version/],
      ['{', /holds no archive/],
    ] as const) {
      writeFileSync(manifest, changed);
      await expect(readArchive(plant.store, folder, null, archived)).rejects.toThrow(words);
    }
    writeFileSync(manifest, text);
    appendFileSync(join(folder, first!.file), 'x');
    await expect(readArchive(plant.store, folder, null, archived)).rejects.toThrow(/not the one/);
    rmSync(join(folder, first!.file));
    await expect(readArchive(plant.store, folder, null, archived)).rejects.toThrow(ArchiveProblem);
    await plant.close();
  });
});
