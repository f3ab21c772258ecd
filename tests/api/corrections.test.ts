import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { SampleAnswer, type SampleCorrection } from '../../api/schemas.ts';
import {
  freezeGiven,
  minutes,
  morning,
  openTestPlant,
  readingsAbout,
  refusal,
  type TestPlant,
  take,
  tech,
} from './test-plant.ts';

let plant: TestPlant;
beforeEach(async () => {
  plant = await openTestPlant();
  await freezeGiven(plant);
});
afterEach(() => plant.close());

const wide = { from: 0, to: Number.MAX_SAFE_INTEGER };
const correction = (mean: number, changes: Partial<SampleCorrection> = {}): SampleCorrection => ({
  id: randomUUID(),
  revision: 1,
  readings: readingsAbout(mean),
  reason: 'Digits were swapped on the form',
  ...changes,
});
const standing = async () =>
  (await plant.store.signals('width', 'Q10', wide)).filter(({ withdrawnAt }) => withdrawnAt === null);

describe('a correction', () => {
  it('is a new record beside the first one', async () => {
    const { sampleId } = await take(plant, 127, morning);
    plant.clock.time += minutes(5);
    const answer = await plant.monitoring.correct(sampleId, correction(127.1), tech);
    expect(SampleAnswer.parse(answer)).toEqual(answer);
    expect(answer).toMatchObject({ sampleId, revision: 2 });
    expect(await plant.store.revisions(sampleId)).toMatchObject([
      { revision: 1, readings: readingsAbout(127), reason: null, at: morning },
      {
        revision: 2,
        readings: readingsAbout(127.1),
        reason: 'Digits were swapped on the form',
        personId: 'tech',
      },
    ]);
    expect(await plant.store.sample(sampleId)).toMatchObject({ revision: 2, readings: readingsAbout(127.1) });
    const [charted] = await plant.store.chartedSamples('width', 'Q10', wide, 1);
    expect(charted?.mean).toBeCloseTo(127.1, 9);
    // What the sender saw at the time stays what it was.
    expect((await plant.store.acceptedAnswer(sampleId))?.location.value).toBeCloseTo(127, 9);
  });

  it('withdraws the signal that lost its ground, and returns the alarm to normal', async () => {
    const { sampleId, alarmId } = await take(plant, 127.5, morning);
    expect(await standing()).toHaveLength(1);
    const answer = await plant.monitoring.correct(sampleId, correction(127.05), tech);
    expect(answer.signals).toEqual([]);
    expect(await standing()).toEqual([]);
    const [signal] = await plant.store.signalsOfSample(sampleId);
    expect(signal?.withdrawnBecause).toContain('Digits were swapped');
    const { alarm, entries, signals } = await plant.monitoring.alarm(alarmId!);
    expect(entries.map(({ kind }) => kind)).toEqual(['raised', 'signal-withdrawn', 'returned-to-normal']);
    expect(signals).toMatchObject([{ withdrawn: true }]);
    expect(alarm).toMatchObject({ state: 'returned-to-normal', active: false, signalCount: 1 });
    expect(alarm.containment).toMatchObject({ suspectParts: 0, lots: [] });
  });

  it('gives a signal to the sample and to those after it that look back on it', async () => {
    const ids: string[] = [];
    for (let index = 0; index < 10; index++) {
      const mean = index === 3 ? 126.95 : 127.1;
      ids.push((await take(plant, mean, morning + minutes(index))).sampleId);
    }
    expect(await standing()).toEqual([]);
    await plant.monitoring.correct(ids[3]!, correction(127.1), tech);
    const signals = await standing();
    expect(signals.map(({ sampleId, rule }) => [sampleId, rule])).toEqual([
      [ids[8], 'run-on-one-side'],
      [ids[9], 'run-on-one-side'],
    ]);
    expect(signals[1]?.points).toEqual(ids.slice(1));
    expect(signals[0]?.alarmId).not.toBeNull();
    await plant.monitoring.correct(ids[3]!, correction(126.95, { revision: 2 }), tech);
    expect(await standing()).toEqual([]);
  });

  it('sent again changes nothing; another one under its id is refused', async () => {
    const { sampleId } = await take(plant, 127, morning);
    const sent = correction(127.1);
    const first = await plant.monitoring.correct(sampleId, sent, tech);
    expect(await plant.monitoring.correct(sampleId, sent, tech)).toEqual(first);
    expect(await plant.store.revisions(sampleId)).toHaveLength(2);
    await refusal(plant.monitoring.correct(sampleId, { ...sent, reason: 'Other' }, tech), 409, 'id');
  });

  it('is refused on a revision that is not the newest, an unknown sample, nothing to correct, or bad values', async () => {
    const { sampleId } = await take(plant, 127, morning);
    const correct = (sent: SampleCorrection, id = sampleId) => plant.monitoring.correct(id, sent, tech);
    await correct(correction(127.1));
    await refusal(correct(correction(127.2)), 409, 'revision');
    await refusal(correct(correction(127.2), randomUUID()), 404, 'id');
    await refusal(correct(correction(127.1, { revision: 2 })), 422, 'readings');
    await refusal(correct(correction(0, { revision: 2, readings: [{ value: null }] })), 422, 'readings');
    expect(await plant.store.revisions(sampleId)).toHaveLength(2);
  });
});

describe('a sample that comes in late', () => {
  it('breaks a run that seemed whole, and completes one that seemed broken', async () => {
    for (let index = 0; index < 9; index++) await take(plant, 127.1, morning + minutes(2 * index));
    const [run] = await standing();
    expect(run?.rule).toBe('run-on-one-side');
    const late = await take(plant, 126.9, morning + minutes(7));
    expect(late.signals).toEqual([]);
    expect(await standing()).toEqual([]);
    const [withdrawn] = await plant.store.signals('width', 'Q10', wide);
    expect(withdrawn?.withdrawnBecause).toMatch(/earlier/);
  });

  it('beyond a limit raises the alarm, which returns to normal at once when the newest sample stands on nothing', async () => {
    await take(plant, 127, morning);
    const late = await take(plant, 127.5, morning - minutes(30));
    const { alarm, entries } = await plant.monitoring.alarm(late.alarmId!);
    expect(entries.map(({ kind }) => kind)).toEqual(['raised', 'returned-to-normal']);
    expect(alarm.state).toBe('returned-to-normal');
  });

  it('older than a day is a signal but no alarm', async () => {
    const old = await take(plant, 127.5, morning - minutes(300));
    plant.clock.time = morning + minutes(24 * 60);
    const older = await take(plant, 127.5, morning - minutes(200));
    expect(old.alarmId).not.toBeNull();
    expect(older.signals).toHaveLength(1);
    expect(older.alarmId).toBeNull();
  });

  it('is never judged across a change of limits', async () => {
    for (let index = 0; index < 5; index++) await take(plant, 127.1, morning + minutes(index));
    await freezeGiven(plant, morning + minutes(5));
    for (let index = 5; index < 13; index++) await take(plant, 127.1, morning + minutes(index));
    expect(await standing()).toEqual([]);
    const ninth = await take(plant, 127.1, morning + minutes(13));
    expect(ninth.signals.map(({ rule }) => rule)).toEqual(['run-on-one-side']);
  });
});

describe('any order of arrival', () => {
  it('leaves the same signals as the order of time', async () => {
    const means = [127.1, 127.15, 127.1, 127.12, 127.3, 127.1, 127.1, 127.2, 127.1, 127.1, 126.7, 127, 127.1];
    const taken = means.map((mean, index) => ({ mean, at: morning + minutes(index) }));
    const drawn = async (order: readonly number[]) => {
      const other = await openTestPlant();
      try {
        await freezeGiven(other);
        other.clock.time = morning + minutes(60);
        for (const index of order) await take(other, taken[index]!.mean, taken[index]!.at);
        const signals = await other.store.signals('width', 'Q10', wide);
        return signals
          .filter(({ withdrawnAt }) => withdrawnAt === null)
          .map(({ takenAt, chart, rule, side, points }) => [takenAt, chart, rule, side, points.length])
          .sort();
      } finally {
        await other.close();
      }
    };
    const inOrder = await drawn(means.map((_, index) => index));
    expect(inOrder.length).toBeGreaterThan(3);
    expect(await drawn(means.map((_, index) => means.length - 1 - index))).toEqual(inOrder);
    // 5 and 13 have no common divisor, so this visits all.
    expect(await drawn(means.map((_, index) => (index * 5) % means.length))).toEqual(inOrder);
  });
});
