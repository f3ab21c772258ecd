import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type LimitsRequest, LimitsVersion } from '../../api/schemas.ts';
import { endOfForce, limitsInForceAt, limitsInForceDuring } from '../../api/store/limits-in-force.ts';
import type { LimitsRow } from '../../api/store/store.ts';
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
    const limits = await freeze({ signalsExplained: true });
    expect(LimitsVersion.parse(limits)).toEqual(limits);
    expect(limits).toMatchObject({
      version: 1,
      status: 'approved',
      method: 'range',
      subgroupsUsed: 20,
      readingsUsed: 97,
      personId: 'engineer',
      signalsExplained: true,
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
    plant.clock.time = morning + minutes(90);
    const before = await take(plant, 127.5, morning + minutes(59));
    const after = await take(plant, 127.5, morning + minutes(60));
    expect(before.signals).toHaveLength(1);
    expect(after.signals).toEqual([]);
    const rows = await plant.store.samples('width', 'Q10', wide, 10);
    expect(rows.map(({ limitsVersion }) => limitsVersion)).toEqual([1, 2]);
  });

  it('never begin before those in force, and the refusal names the time as the plant reads it', async () => {
    await plant.monitoring.savePlantRecord(
      { kind: 'plant', record: { name: 'Test plant', utcOffsetMinutes: 120 } },
      'for this test',
      engineer,
    );
    const begins = Date.parse('2025-09-01T08:00:30Z');
    await freezeGiven(plant, begins);
    const earlier = freezeGiven(plant, begins - 1);
    expect(await refusal(earlier, 422, 'effectiveFrom')).toMatch(
      /2025-09-01 10:01 \(plant time\) or later: version 1 /,
    );
    expect((await freezeGiven(plant, Date.parse('2025-09-01T08:01:00Z'))).version).toBe(2);
  });

  it('begin within a week: a wrong year is refused and locks nothing', async () => {
    const week = minutes(7 * 24 * 60);
    const wrongYear = freeze({
      source: { kind: 'given', mean: 127, withinSubgroupStandardDeviation: 0.2 },
      effectiveFrom: '2099-09-03T06:00:00Z',
    });
    expect(await refusal(wrongYear, 422, 'effectiveFrom')).toMatch(/at most 7 days ahead.*year/);
    await refusal(freezeGiven(plant, morning + week + 1), 422, 'effectiveFrom');
    expect((await freezeGiven(plant, morning + week)).version).toBe(1);
  });

  it('that have not begun give way to newer ones that begin earlier, and stay in the record', async () => {
    const at = (hours: number) => morning + minutes(60 * hours);
    await freezeGiven(plant, at(-6));
    await freezeGiven(plant, at(5), 128);
    await freezeGiven(plant, at(1), 127.5);
    const versions = await plant.store.limitsVersions('width', 'Q10');
    expect(versions.map(({ version, effectiveFrom }) => [version, effectiveFrom])).toEqual([
      [1, at(-6)],
      [2, at(5)],
      [3, at(1)],
    ]);
    const held = async (hours: number) =>
      (await plant.store.limitsAt('width', 'Q10', at(hours)))?.version ?? null;
    expect([await held(-7), await held(0), await held(1), await held(6)]).toEqual([null, 1, 3, 3]);

    plant.clock.time = at(6);
    for (const hours of [0.5, 2, 5.5]) await take(plant, 127.5, at(hours));
    const rows = await plant.store.samples('width', 'Q10', wide, 10);
    expect(rows.map(({ limitsVersion }) => limitsVersion)).toEqual([1, 3, 3]);
    const signals = await plant.store.signals('width', 'Q10', wide);
    expect(signals.map(({ takenAt, limitsVersion }) => [takenAt, limitsVersion])).toEqual([[at(0.5), 1]]);
    expect(await refusal(freezeGiven(plant, at(0.5)), 422, 'effectiveFrom')).toMatch(/version 3/);
  });

  it('hold for one stretch of time, by the one rule, whoever asks', () => {
    const versions = ([0, 50, 10, 30] as const).map(
      (effectiveFrom, place) => ({ version: place + 1, effectiveFrom }) as LimitsRow,
    );
    const held = [-1, 0, 9, 10, 29, 30, 99].map((at) => limitsInForceAt(versions, at)?.version ?? null);
    expect(held).toEqual([null, 1, 1, 3, 3, 4, 4]);
    expect(versions.map((version) => endOfForce(versions, version))).toEqual([
      10,
      10,
      30,
      Number.POSITIVE_INFINITY,
    ]);
    const during = (from: number, to: number) =>
      limitsInForceDuring(versions, { from, to }).map(({ version }) => version);
    expect([during(0, 9), during(5, 60), during(50, 60)]).toEqual([[1], [1, 3, 4], [4]]);
  });

  it('reach only over the samples of their own stretch when a late sample comes in', async () => {
    await freezeGiven(plant, morning - minutes(360));
    await freezeGiven(plant, morning + minutes(300), 128);
    await freezeGiven(plant, morning + minutes(60), 127.5);
    plant.clock.time = morning + minutes(120);
    await take(plant, 127.5, morning + minutes(61));
    await take(plant, 127.5, morning + minutes(62));
    await take(plant, 127.5, morning + minutes(59));
    const signals = await plant.store.signals('width', 'Q10', wide);
    expect(signals.map(({ takenAt, limitsVersion }) => [takenAt, limitsVersion])).toEqual([
      [morning + minutes(59), 1],
    ]);
  });

  it('are approved over signals of their baseline only with the word that each was looked into', async () => {
    await baseline(20);
    await take(plant, 128, begin + minutes(60 * 20));
    const onNewest = await take(plant, 127, morning - minutes(1));
    expect(onNewest.signals).toEqual([]);
    const count = (refused: string) => Number(/holds (\d+) signals?:/.exec(refused)?.[1]);
    const own = await refusal(freeze(), 422, 'signalsExplained');
    expect(count(own)).toBeGreaterThan(0);
    expect(own).toMatch(/signalsExplained true.*trial/);
    const trial = await freeze({ status: 'trial', effectiveFrom: iso(morning - minutes(2)) });
    expect(trial.signalsExplained).toBe(false);

    // A signal of the record counts too, and one that both know counts once.
    await freezeGiven(plant, morning - minutes(1), 126);
    const recorded = (await plant.store.signals('width', 'Q10', wide)).filter(
      ({ withdrawnAt }) => withdrawnAt === null,
    );
    expect(recorded.length).toBeGreaterThan(0);
    const both = await refusal(freeze(), 422, 'signalsExplained');
    expect(count(both)).toBe(count(own) + recorded.length);

    expect((await freeze({ signalsExplained: true })).signalsExplained).toBe(true);
    const stored = await plant.store.limitsVersions('width', 'Q10');
    expect(stored.map(({ status, signalsExplained }) => [status, signalsExplained])).toEqual([
      ['trial', false],
      ['approved', false],
      ['approved', true],
    ]);
  });

  it('are approved from a quiet baseline without that word', async () => {
    const quiet = [0, 2, -1, 1, -2, 0, 1, -1, 2, -2].map((step) => step / 20);
    await plant.monitoring.acceptAll(
      Array.from({ length: 20 }, (_, index) => widths(127 + quiet[index % 10]!, begin + minutes(60 * index))),
      tech,
    );
    expect((await freeze()).signalsExplained).toBe(false);
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
