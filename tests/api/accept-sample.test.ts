import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { SampleAnswer } from '../../api/schemas.ts';
import {
  changePlan,
  engineer,
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
} from './test-plant.ts';

let plant: TestPlant;
beforeEach(async () => {
  plant = await openTestPlant();
});
afterEach(() => plant.close());

const wide = { from: 0, to: Number.MAX_SAFE_INTEGER };

describe('a sample on its way', () => {
  it('is judged, stored and answered', async () => {
    await freezeGiven(plant);
    const answer = await take(plant, 127, morning);
    expect(SampleAnswer.parse(answer)).toEqual(answer);
    expect(answer.verdict.level).toBe('fine');
    expect(answer.location.value).toBeCloseTo(127, 9);
    // Source: 3 · 0.2 / √5 = 0.26833 by hand.
    expect(answer.location.limits?.upperControlLimit).toBeCloseTo(127.26833, 5);
    // Source: D4 · d2 = 4.918 for n = 5 (ASTM STP 15D, table; from memory), times 0.2.
    expect(answer.spread.limits?.upperControlLimit).toBeCloseTo(4.918 * 0.2, 3);
    const [row] = await plant.store.samples('width', 'Q10', wide, 10);
    expect(row).toMatchObject({
      id: answer.sampleId,
      revision: 1,
      limitsVersion: 1,
      personId: 'tech',
      door: 'page',
    });
    expect(row?.readings).toEqual(readingsAbout(127));
    expect(plant.changes.at(-1)).toEqual({ kind: 'sample', streamId: 'width', sampleId: answer.sampleId });
  });

  it('calls, with the reaction plan, when the mean is beyond its control limit', async () => {
    await freezeGiven(plant);
    const answer = await take(plant, 127.3, morning);
    expect(answer.verdict.level).toBe('call');
    expect(answer.verdict.steps).toEqual(['Call the setter.']);
    expect(answer.verdict.cautions).toEqual(['Only authorised people open a guard.']);
    expect(answer.signals).toMatchObject([
      { chart: 'location', rule: 'one-beyond-three-sigma', side: 'above', points: [answer.sampleId] },
    ]);
    expect(answer.alarmId).not.toBeNull();
    const [stored] = await plant.store.signalsOfSample(answer.sampleId);
    expect(stored?.id).toBe(answer.signals[0]?.id);
  });

  it('completes a run of nine on one side, which stands on all nine', async () => {
    await freezeGiven(plant);
    const ids: string[] = [];
    for (let index = 0; index < 9; index++) {
      const answer = await take(plant, 127.1, morning + minutes(index));
      ids.push(answer.sampleId);
      expect(answer.signals.map(({ rule }) => rule)).toEqual(index < 8 ? [] : ['run-on-one-side']);
      if (index === 8) expect(answer.signals[0]?.points).toEqual(ids);
    }
  });

  it('is stored without limits, and the verdict says so', async () => {
    const answer = await take(plant, 127, morning);
    expect(answer.verdict.sentence).toMatch(/no control limits/i);
    expect(answer.verdict.judged).toBe(false);
    expect(answer.location).toEqual({ value: 127, limits: null });
    expect(answer.spread.value).toBeCloseTo(0.4, 9);
  });

  it('asks about a lost decimal against the drawing, and about nothing that the person kept', async () => {
    const asked = await take(plant, 127, morning, { readings: [{ value: 1271 }, { value: 127 }] });
    expect(asked.questions).toMatchObject([{ position: 0, kind: 'lost-decimal', suggestion: 127.1 }]);
    expect(asked.verdict.level).toBe('measure-again');
    expect(asked.outsideSpecification).toEqual([0]);
    const kept = await take(plant, 127, morning + 1, {
      readings: [
        { value: 152.4, firstValue: 152.4, asked: { kind: 'other-model', decision: 'kept' } },
        { value: 127 },
      ],
    });
    expect(kept.questions).toEqual([]);
    const [row] = await plant.store.samples('width', 'Q10', { from: morning + 1, to: morning + 1 }, 1);
    expect(row?.readings?.[0]).toEqual({
      value: 152.4,
      firstValue: 152.4,
      asked: { kind: 'other-model', decision: 'kept' },
    });
  });

  it('asks whether a piece is of another model, by the limits in force', async () => {
    await freezeGiven(plant);
    const answer = await take(plant, 127, morning, { readings: [{ value: 127 }, { value: 152.38 }] });
    expect(answer.questions).toMatchObject([{ position: 1, kind: 'other-model', modelId: 'Q12' }]);
  });

  it('has bad parts of a count set apart, and calls where they are far more than before', async () => {
    const count = async (nonconforming: number, minute: number) =>
      (
        await plant.monitoring.accept(
          {
            id: randomUUID(),
            streamId: 'leaks',
            modelId: 'Q10',
            takenAt: new Date(morning + minutes(minute - 20)).toISOString(),
            unit: '1',
            count: { inspected: 310, nonconforming },
          },
          tech,
        )
      ).answer;
    const first = (await count(200, 0)).verdict;
    expect(first).toMatchObject({ level: 'fine', judged: false, steps: ['Call the setter.'] });
    expect(first.sentence).toMatch(/^Set the 200 nonconforming parts apart .* Too few samples before/);
    for (const [minute, nonconforming] of [1, 0, 2, 1, 0].entries()) await count(nonconforming, minute + 1);
    const none = (await count(0, 8)).verdict;
    expect(none).toMatchObject({ level: 'fine', judged: false, steps: [], cautions: [] });
    const ordinary = (await count(2, 9)).verdict;
    expect(ordinary).toMatchObject({ level: 'fine', judged: false, steps: ['Call the setter.'] });
    expect(ordinary.sentence).toContain('Set the 2 nonconforming parts apart');
    const flood = await count(200, 10);
    expect(flood.verdict).toMatchObject({
      level: 'call',
      steps: ['Call the setter.'],
      cautions: ['Only authorised people open a guard.'],
    });
    // A correction is compared with what came before the sample, and not with itself.
    const corrected = await plant.monitoring.correct(
      flood.sampleId,
      {
        id: randomUUID(),
        revision: 1,
        reason: 'Counted again',
        count: { inspected: 310, nonconforming: 190 },
      },
      tech,
    );
    expect(corrected.verdict).toMatchObject({ level: 'call', steps: ['Call the setter.'] });
    // Before these samples there is as little history as there was.
    expect((await count(150, -1)).verdict.sentence).toContain('Too few samples before');
  });

  it('keeps counts, and charts individuals with their moving range', async () => {
    const counted = await plant.monitoring.accept(
      {
        id: randomUUID(),
        streamId: 'leaks',
        modelId: 'Q14',
        takenAt: new Date(morning).toISOString(),
        unit: '1',
        count: { inspected: 310, nonconforming: 2 },
      },
      tech,
    );
    expect(counted.answer.location).toEqual({ value: null, limits: null });
    const [row] = await plant.store.samples('leaks', 'Q14', wide, 10);
    expect(row?.count).toEqual({ inspected: 310, nonconforming: 2 });

    await plant.monitoring.freezeLimits(
      {
        streamId: 'force',
        modelId: 'Q10',
        status: 'trial',
        source: { kind: 'given', mean: 10, withinSubgroupStandardDeviation: 1 },
        effectiveFrom: new Date(morning - minutes(60)).toISOString(),
        reason: 'Machine study',
      },
      engineer,
    );
    const force = { streamId: 'force', unit: 'kN' as const };
    await take(plant, 0, morning, { ...force, readings: [{ value: 10 }] });
    const next = await take(plant, 0, morning + 1, { ...force, readings: [{ value: 14 }] });
    // Source: upper limit of a moving range of two, D4 · d2 = 3.686 (ASTM STP 15D, table; from memory).
    expect(next.spread.limits?.upperControlLimit).toBeCloseTo(3.686, 3);
    expect(next.spread.value).toBe(4);
    expect(next.signals.map(({ chart }) => chart)).toEqual(['location', 'spread']);
    // The plan of this stream draws signals but calls nobody.
    expect(next.alarmId).toBeNull();
    expect(await plant.store.alarms({ limit: 10 })).toEqual([]);
  });
});

describe('the same sample again', () => {
  it('is stored once, however often and however parallel it is sent', async () => {
    await freezeGiven(plant);
    const submission = widths(127.3, morning);
    const all = await Promise.all(
      Array.from({ length: 50 }, () => plant.monitoring.accept(submission, tech)),
    );
    expect(all.filter(({ repeated }) => !repeated)).toHaveLength(1);
    for (const { answer } of all) expect(answer).toEqual(all[0]?.answer);
    expect(await plant.store.sampleCount()).toBe(1);
    expect(await plant.store.alarms({ limit: 10 })).toHaveLength(1);
    expect(plant.changes.filter(({ kind }) => kind === 'sample')).toHaveLength(1);
  });

  it('gets the first answer even after limits, plan and database were changed', async () => {
    const submission = widths(127.3, morning);
    const first = await plant.monitoring.accept(submission, tech);
    await freezeGiven(plant);
    await changePlan(plant, { sampleSize: 2 });
    await plant.reopen();
    plant.clock.time += minutes(60 * 24 * 400);
    const again = await plant.monitoring.accept({ ...submission, id: submission.id.toUpperCase() }, tech);
    expect(again).toEqual({ answer: first.answer, repeated: true });
  });

  it.each([
    ['another time', { takenAt: new Date(morning + 1).toISOString() }],
    ['another model', { modelId: 'Q12' }],
    ['another value', { readings: readingsAbout(127.01) }],
    ['another note', { note: 'again' }],
    ['another lot', { lot: 'L2' }],
    ['another unit', { unit: 'in' as const }],
  ])('is refused with %s under its id', async (_, change) => {
    const submission = widths(127, morning);
    await plant.monitoring.accept(submission, tech);
    await refusal(plant.monitoring.accept({ ...submission, ...change }, tech), 409, 'id');
    expect(await plant.store.sampleCount()).toBe(1);
  });
});

describe('a sample that cannot be accepted', () => {
  const many = Array.from({ length: 6 }, () => ({ value: 127 }));
  it.each([
    ['an unknown stream', { streamId: 'nowhere' }, 404, 'streamId'],
    ['an unknown model', { modelId: 'Q99' }, 404, 'modelId'],
    ['a model without a specification', { modelId: 'Q14' }, 422, 'modelId'],
    ['another unit', { unit: 'in' as const }, 422, 'unit'],
    ['more readings than the plan', { readings: many }, 422, 'readings'],
    ['no value at all', { readings: [{ value: null }] }, 422, 'readings'],
    ['the future', { takenAt: new Date(morning + minutes(6)).toISOString() }, 422, 'takenAt'],
    ['ancient times', { takenAt: '1999-12-31T23:59:59Z' }, 422, 'takenAt'],
  ])('names the field: %s', async (_, change, status, field) => {
    await refusal(plant.monitoring.accept(widths(127, morning, change), tech), status, field);
    expect(await plant.store.sampleCount()).toBe(0);
    expect(plant.changes).toEqual([]);
  });

  it('names readings or count by the kind of the characteristic, and an unknown person', async () => {
    const { readings, ...rest } = widths(127, morning);
    const count = { inspected: 10, nonconforming: 0 };
    await refusal(plant.monitoring.accept({ ...rest, count }, tech), 422, 'readings');
    const leaks = { ...rest, streamId: 'leaks', unit: '1' as const, readings };
    await refusal(plant.monitoring.accept(leaks, tech), 422, 'count');
    const stranger = { personId: 'nobody', door: 'api', how: 'named' } as const;
    await refusal(plant.monitoring.accept(widths(127, morning), stranger), 404, 'Runtrue-Person');
  });

  it('accepts fewer readings, missing ones, a clock ahead by five minutes, and a model where none is specified', async () => {
    await take(plant, 127, morning, { readings: [{ value: null }, { value: 127 }] });
    await plant.monitoring.accept(widths(127, morning + minutes(5)), tech);
    await take(plant, 127, morning, {
      streamId: 'force',
      modelId: 'Q14',
      unit: 'kN',
      readings: [{ value: 5 }],
    });
    expect(await plant.store.sampleCount()).toBe(3);
  });
});

describe('many samples at once', () => {
  it('go the same path as one by one, in any order', async () => {
    await freezeGiven(plant);
    const submissions = [127, 127.3, 127, 127.1].map((mean, index) => widths(mean, morning - minutes(index)));
    const progress: [number, number][] = [];
    const result = await plant.monitoring.acceptAll(submissions, tech, (done, total) =>
      progress.push([done, total]),
    );
    expect(result).toEqual({ stored: 4, repeated: 0 });
    expect(progress.at(-1)).toEqual([4, 4]);
    const signals = await plant.store.signals('width', 'Q10', wide);
    expect(signals.map(({ sampleId }) => sampleId)).toEqual([submissions[1]?.id]);
    expect(plant.changes.filter(({ kind }) => kind === 'sample')).toHaveLength(1);
    expect(await plant.monitoring.acceptAll(submissions, tech)).toEqual({ stored: 0, repeated: 4 });
  });

  it('are stored all or not at all, and the refusal says which', async () => {
    const submissions = [widths(127, morning), widths(127, morning, { unit: 'in' }), widths(127, morning)];
    await refusal(plant.monitoring.acceptAll(submissions, tech), 422, 'samples.1.unit');
    expect(await plant.store.sampleCount()).toBe(0);
    expect(plant.changes).toEqual([]);
    await take(plant, 127, morning);
    expect(await plant.store.sampleCount()).toBe(1);
  });

  it('let other work go on, and show nothing before all are stored', async () => {
    const submissions = Array.from({ length: 3000 }, (_, index) => widths(127, morning - minutes(index)));
    let running = true;
    let reads = 0;
    const seen = new Set<number>();
    const import_ = plant.monitoring.acceptAll(submissions, tech).finally(() => {
      running = false;
    });
    while (running) {
      seen.add(await plant.store.sampleCount());
      reads += 1;
      await new Promise(setImmediate);
    }
    await import_;
    expect(reads).toBeGreaterThan(2);
    expect([...seen].filter((count) => count !== 0 && count !== 3000)).toEqual([]);
    expect(await plant.store.sampleCount()).toBe(3000);
  });
});
