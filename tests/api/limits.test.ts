import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type LimitsRequest, LimitsVersion } from '../../api/schemas.ts';
import {
  changePlan,
  engineer,
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

const iso = (time: number) => new Date(time).toISOString();
const wide = { from: 0, to: Number.MAX_SAFE_INTEGER };
const begin = morning - minutes(60 * 48);

const request = (changes: Partial<LimitsRequest> = {}): LimitsRequest => ({
  streamId: 'width',
  modelId: 'Q10',
  status: 'approved',
  source: { kind: 'baseline', from: iso(begin), to: iso(morning), method: 'range' },
  effectiveFrom: iso(morning),
  reason: 'First weeks of production',
  ...changes,
});
const freeze = (changes: Partial<LimitsRequest> = {}) =>
  plant.monitoring.freezeLimits(request(changes), engineer);
const baseline = (count: number) =>
  plant.monitoring.acceptAll(
    Array.from({ length: count }, (_, index) => widths(127 + (index % 2) / 10, begin + minutes(60 * index))),
    tech,
  );

describe('control limits', () => {
  it('are frozen from a baseline of corrected values', async () => {
    await baseline(20);
    const [first] = await plant.store.samples('width', 'Q10', wide, 20);
    await plant.monitoring.correct(
      first!.id,
      {
        id: crypto.randomUUID(),
        revision: 1,
        readings: [{ value: 126 }, { value: 128 }],
        reason: 'Read again',
      },
      tech,
    );
    const limits = await freeze();
    expect(LimitsVersion.parse(limits)).toEqual(limits);
    expect(limits).toMatchObject({
      version: 1,
      status: 'approved',
      method: 'range',
      subgroupsUsed: 20,
      readingsUsed: 97,
      personId: 'engineer',
      baselineFrom: iso(begin),
    });
    // Source: by hand. Two readings of mean 127, nine samples of five at 127, ten of five at 127.1;
    // d2(5) = 2.326, d2(2) = 1.128 (ASTM STP 15D, table; from memory).
    expect(limits.mean).toBeCloseTo(127 + (50 * 0.1) / 97, 9);
    expect(limits.withinSubgroupStandardDeviation).toBeCloseTo(((19 * 0.4) / 2.326 + 2 / 1.128) / 20, 4);
    expect(await plant.store.limitsAt('width', 'Q10', morning - 1)).toBeNull();
    expect((await plant.store.limitsAt('width', 'Q10', morning))?.version).toBe(1);
    expect(plant.changes.at(-1)).toEqual({ kind: 'limits', streamId: 'width' });
  });

  it('for means can come from their moving range, where the plan says so', async () => {
    await changePlan(plant, { meanLimitsFrom: 'moving-range-of-means' });
    await baseline(20);
    // Source: average moving range 0.1 over d2(2) = 1.128 (ASTM STP 15D, table; from memory).
    expect((await freeze()).meanStandardDeviation).toBeCloseTo(0.1 / 1.128, 4);
  });

  it('ask for enough subgroups, by their status', async () => {
    await baseline(19);
    expect(await refusal(freeze(), 422, 'source.from')).toMatch(/at least 20.*trial/);
    expect((await freeze({ status: 'trial' })).version).toBe(1);
    const few = {
      kind: 'baseline',
      from: iso(begin),
      to: iso(begin + minutes(180)),
      method: 'range',
    } as const;
    await refusal(freeze({ status: 'trial', source: few }), 422, 'source.from');
  });

  it('are refused without variation, with the reason', async () => {
    const equal = { readings: Array.from({ length: 5 }, () => ({ value: 127 })) };
    const submissions = Array.from({ length: 20 }, (_, index) => widths(127, begin + index, equal));
    await plant.monitoring.acceptAll(submissions, tech);
    expect(await refusal(freeze(), 422, 'source')).toMatch(/no variation/);
    expect(await plant.store.limitsVersions('width', 'Q10')).toEqual([]);
  });

  it('are frozen by an engineer only', async () => {
    for (const personId of ['tech', 'supervisor']) {
      const work = plant.monitoring.freezeLimits(request(), { personId, door: 'page' });
      expect(await refusal(work, 403, 'Runtrue-Person')).toMatch(/Only a process engineer/);
    }
  });

  it.each<[string, Partial<LimitsRequest>, number, string]>([
    ['an unknown stream', { streamId: 'nowhere' }, 404, 'streamId'],
    ['an unknown model', { modelId: 'nowhere' }, 404, 'modelId'],
    ['a stream without a chart', { streamId: 'leaks' }, 422, 'streamId'],
    [
      'a period that ends before it begins',
      { source: { kind: 'baseline', from: iso(morning), to: iso(begin), method: 'range' } },
      422,
      'source.to',
    ],
    [
      'a method for individuals',
      { source: { kind: 'baseline', from: iso(begin), to: iso(morning), method: 'moving-range' } },
      422,
      'source.method',
    ],
    [
      'a mean beyond a natural bound',
      { streamId: 'force', source: { kind: 'given', mean: -1, withinSubgroupStandardDeviation: 1 } },
      422,
      'source.mean',
    ],
  ])('name the field: %s', async (_, changes, status, field) => {
    await refusal(freeze(changes), status, field);
  });

  it('follow each other in time, and samples go by the version in force when they were taken', async () => {
    await freezeGiven(plant, morning);
    await freezeGiven(plant, morning + minutes(60), 127.5);
    expect(await refusal(freezeGiven(plant, morning + minutes(30)), 422, 'effectiveFrom')).toMatch(
      /version 2/,
    );
    plant.clock.time = morning + minutes(90);
    const before = await take(plant, 127.5, morning + minutes(59));
    const after = await take(plant, 127.5, morning + minutes(60));
    expect(before.signals).toHaveLength(1);
    expect(after.signals).toEqual([]);
    const rows = await plant.store.samples('width', 'Q10', wide, 10);
    expect(rows.map(({ limitsVersion }) => limitsVersion)).toEqual([1, 2]);
  });

  it('judge anew what was taken since they hold', async () => {
    await freezeGiven(plant, morning - minutes(60));
    const { sampleId, alarmId } = await take(plant, 127.5, morning);
    const next = await take(plant, 127, morning + minutes(1));
    await freezeGiven(plant, morning - minutes(30), 127.5);
    const signals = await plant.store.signals('width', 'Q10', wide);
    expect(
      signals.map(({ sampleId: id, limitsVersion, withdrawnAt }) => [
        id,
        limitsVersion,
        withdrawnAt !== null,
      ]),
    ).toEqual([
      [sampleId, 1, true],
      [next.sampleId, 2, false],
    ]);
    expect(signals[0]?.withdrawnBecause).toMatch(/version 2/);
    const { entries, alarm } = await plant.monitoring.alarm(alarmId!);
    expect(entries.map(({ kind }) => kind)).toEqual([
      'raised',
      'returned-to-normal',
      'signal-withdrawn',
      'raised-again',
    ]);
    expect(alarm.state).toBe('unacknowledged');
  });

  it('judge anew as many samples as there are, each as if it had come in after them', async () => {
    const count = 5_300;
    const mean = (index: number) => (index % 1000 === 999 ? 127.6 : 127 + ((index % 19) - 9) / 100);
    const samples = Array.from({ length: count }, (_, index) => widths(mean(index), morning - index * 1000));
    await plant.monitoring.acceptAll(samples, tech);
    await freezeGiven(plant, morning - count * 1000);
    const drawn = async () =>
      (await plant.store.signals('width', 'Q10', wide)).map(({ sampleId, rule, points }) => [
        sampleId,
        rule,
        points,
      ]);
    const judgedAfterwards = await drawn();
    expect(judgedAfterwards.length).toBeGreaterThan(200);

    const other = await openTestPlant();
    const first = plant;
    plant = other;
    try {
      await freezeGiven(plant, morning - count * 1000);
      await plant.monitoring.acceptAll(samples, tech);
      expect(await drawn()).toEqual(judgedAfterwards);
    } finally {
      plant = first;
      await other.close();
    }
  });
});
