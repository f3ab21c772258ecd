import { rmSync } from 'node:fs';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import {
  freezeGiven,
  minutes,
  morning,
  openTestPlant,
  refusal,
  type TestPlant,
  take,
  tech,
  widths,
} from './test-plant.ts';

let plant: TestPlant;
beforeEach(async () => {
  plant = await openTestPlant();
});
afterEach(() => plant.close());

const wide = { from: 0, to: Number.MAX_SAFE_INTEGER };
const missed = { streamId: 'width', dueAt: morning, reason: 'x', personId: 'tech', at: morning };

const databaseOf = (store: unknown) => (store as { sql: { database: Database.Database } }).sql.database;

describe('a transaction', () => {
  it('leaves nothing when it fails, and the next one goes on', async () => {
    const work = plant.store.transaction(async (store) => {
      await store.addMissedSample(missed);
      throw new Error('fails afterwards');
    });
    await expect(work).rejects.toThrow('fails afterwards');
    expect(await plant.store.missedSamples('width', wide)).toEqual([]);
    await plant.store.transaction((store) => store.addMissedSample(missed));
    expect(await plant.store.missedSamples('width', wide)).toHaveLength(1);
  });

  it('runs alone, and is not seen before it is stored', async () => {
    let running = 0;
    const one = (dueAt: number) =>
      plant.store.transaction(async (store) => {
        running += 1;
        await store.addMissedSample({ ...missed, dueAt });
        await new Promise(setImmediate);
        expect(running).toBe(1);
        const outside = (await plant.store.missedSamples('width', wide)).length;
        expect(await store.missedSamples('width', wide)).toHaveLength(outside + 1);
        running -= 1;
      });
    await Promise.all([1, 2, 3, 4].map(one));
    expect(await plant.store.missedSamples('width', wide)).toHaveLength(4);
  });

  it('forgets a change of the plant that was not stored', async () => {
    const name = { name: 'Other works', utcOffsetMinutes: 0 };
    const work = plant.store.transaction(async (store) => {
      const change = {
        kind: 'plant',
        id: 'plant',
        before: null,
        after: name,
        reason: '',
        personId: 'x',
        at: 1,
      } as const;
      await store.savePlantRecord(change);
      expect((await store.plantModel()).plant).toEqual(name);
      throw new Error('fails afterwards');
    });
    await expect(work).rejects.toThrow();
    expect((await plant.store.plantModel()).plant.name).toBe('Test works');
    await take(plant, 127, morning);
    expect((await plant.store.plantModel()).plant.name).toBe('Test works');
  });

  it('says that nothing was stored when the disk takes no more, and works again when it does', async () => {
    const pageLimit = (pages: number) =>
      plant.store.transaction(async (store) => {
        databaseOf(store).pragma(`max_page_count = ${pages}`);
      });
    await pageLimit(1);
    const note = 'x'.repeat(2000);
    let stored = 0;
    let full: unknown = null;
    while (full === null && stored < 200) {
      await take(plant, 127, morning + stored, { note }).then(
        () => {
          stored += 1;
        },
        (error: unknown) => {
          full = error;
        },
      );
    }
    expect(await refusal(Promise.reject(full), 503, undefined)).toMatch(/nothing was stored/);
    expect(await plant.store.sampleCount()).toBe(stored);
    await pageLimit(1_000_000);
    await take(plant, 127, morning + stored, { note });
    expect(await plant.store.sampleCount()).toBe(stored + 1);
    expect(await plant.store.samples('width', 'Q10', wide, 1000)).toHaveLength(stored + 1);
  });
});

describe('what the store remembers between samples', () => {
  it('never outlives a transaction that failed, nor a sample that somebody else wrote', async () => {
    await freezeGiven(plant);
    for (let index = 0; index < 7; index++) await take(plant, 127.1, morning + minutes(index));
    const refused = [widths(127.1, morning + minutes(7)), widths(127, morning, { unit: 'in' })];
    await refusal(plant.monitoring.acceptAll(refused.reverse(), tech), 422, 'samples.0.unit');
    const late = [
      widths(127.1, morning + minutes(4)),
      widths(127.1, morning + minutes(5), { modelId: 'Q14' }),
    ];
    await refusal(plant.monitoring.acceptAll(late, tech), 422, 'samples.1.modelId');
    expect((await take(plant, 127.1, morning + minutes(8))).signals).toEqual([]);

    // A second node on the same database.
    const second = openSqliteStore(plant.file);
    const elsewhere = createMonitoring({ store: second, clock: plant.clock, feed: createChangeFeed() });
    plant.clock.time = morning + minutes(9);
    const { answer } = await elsewhere.accept(widths(127.1, morning + minutes(9)), tech);
    expect(answer.signals.map(({ rule }) => rule)).toEqual(['run-on-one-side']);
    const next = await take(plant, 127.1, morning + minutes(10));
    expect(next.signals[0]?.points.at(-2)).toBe(answer.sampleId);
    expect(next.alarmId).toBe(answer.alarmId);
    await second.close();
  });
});

describe('the database', () => {
  it('is the same after a restart: answers, signals, alarms, limits', async () => {
    const submission = widths(127, morning);
    const { answer } = await plant.monitoring.accept(submission, tech);
    const before = await plant.store.samples('width', 'Q10', wide, 10);
    await plant.reopen();
    expect(await plant.store.samples('width', 'Q10', wide, 10)).toEqual(before);
    expect(await plant.monitoring.accept(submission, tech)).toEqual({ answer, repeated: true });
  });

  it('survives a power cut after each commit: write-ahead log, flushed at every commit', async () => {
    await plant.store.transaction(async (store) => {
      const database = databaseOf(store);
      expect(database.pragma('journal_mode', { simple: true })).toBe('wal');
      // 2 is FULL.
      expect(database.pragma('synchronous', { simple: true })).toBe(2);
    });
  });

  it('newer than the program is refused', async () => {
    await plant.store.close();
    const database = new Database(plant.file);
    database.pragma('user_version = 999');
    database.close();
    expect(() => openSqliteStore(plant.file)).toThrow(/schema 999.*newer/);
    rmSync(plant.file);
    await plant.reopen();
  });

  it('finds samples by stream, model and time, newest of them first where there are too many', async () => {
    for (const [index, modelId] of ['Q10', 'Q12', 'Q10', 'Q10'].entries()) {
      await take(plant, modelId === 'Q10' ? 127 : 152.4, morning + minutes(index), { modelId });
    }
    const times = (rows: readonly { readonly takenAt: number }[]) =>
      rows.map(({ takenAt }) => (takenAt - morning) / minutes(1));
    expect(times(await plant.store.samples('width', 'Q10', wide, 2))).toEqual([2, 3]);
    expect(times(await plant.store.samples('width', 'Q10', { from: morning, to: morning + 1 }, 9))).toEqual([
      0,
    ]);
    expect(times(await plant.store.takenTimes('width', wide))).toEqual([0, 1, 2, 3]);
    expect((await plant.store.latestSample('width'))?.modelId).toBe('Q10');
    expect(await plant.store.latestSample('force')).toBeNull();
    expect(await plant.store.sampleCount()).toBe(4);
  });

  it('tells a second writer that holds it from a refusal of the sample', async () => {
    const other = new Database(plant.file);
    other.exec('begin immediate');
    const detail = await refusal(take(plant, 127, morning), 503, undefined);
    expect(detail).toMatch(/nothing was stored/);
    other.exec('rollback');
    other.close();
    await take(plant, 127, morning);
    expect(await plant.store.sampleCount()).toBe(1);
  });
});
