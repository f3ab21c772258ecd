import { describe, expect, it } from 'vitest';
import type { LimitsVersion, PlantEvent, Review, Sample, SampleGap, Signal } from '../../api/schemas.ts';
import { assess, shapeEvidence } from '../../web/review/assessment.ts';
import { chartSeries } from '../../web/review/chart-series.ts';
import { eventMarks, tellingKind } from '../../web/review/event-line.ts';
import { gapMarks, gapSentence, shortGap } from '../../web/review/gap-line.ts';
import { headline } from '../../web/review/headline.ts';
import { judgedAnewSentence } from '../../web/review/judged-anew.ts';
import { limitsAgainstSpecification } from '../../web/review/limits-against-specification.ts';
import { fromLocalField, readAddress, toLocalField, writeAddress } from '../../web/review/period.ts';
import { shapeInWords } from '../../web/review/shape-in-words.ts';
import { eventsNear, studyOf } from '../../web/review/study.ts';
import { trialLimits } from '../../web/review/trial-limits.ts';

const HOUR = 3_600_000;
const START = Date.parse('2025-09-01T06:30:00Z');
const timeOf = (index: number): string => new Date(START + index * HOUR).toISOString();
const idOf = (index: number): string => `00000000-0000-4000-8000-${String(index).padStart(12, '0')}`;

/** Normal scores in a fixed, mixed order: values without any disturbance and without a random source. */
function quietReadings(samples: number, size: number): number[][] {
  const count = samples * size;
  const scores = Array.from({ length: count }, (_, index) => {
    const p = (index + 0.5) / count;
    // Logit with the slope of the normal quantile: good enough for shape and spread.
    const t = Math.sqrt(-2 * Math.log(Math.min(p, 1 - p)));
    const z = t - (2.30753 + 0.27061 * t) / (1 + 0.99229 * t + 0.04481 * t * t);
    return p < 0.5 ? -z : z;
  });
  let state = 12_345;
  for (let index = count - 1; index > 0; index--) {
    state = (state * 1_103_515_245 + 12_345) % 2_147_483_648;
    const other = state % (index + 1);
    [scores[index], scores[other]] = [scores[other]!, scores[index]!];
  }
  return Array.from({ length: samples }, (_, place) =>
    scores.slice(place * size, place * size + size).map((score) => Number((10 + 0.1 * score).toFixed(3))),
  );
}

function sample(index: number, readings: readonly number[], limitsVersion: number | null): Sample {
  return {
    id: idOf(index),
    streamId: 'S',
    modelId: 'M',
    takenAt: timeOf(index),
    storedAt: timeOf(index),
    personId: 'P',
    door: 'page',
    revision: 1,
    readings: readings.map((value) => ({ value })),
    count: null,
    mean: null,
    range: null,
    standardDeviation: null,
    lot: null,
    note: '',
    limitsVersion,
    questions: [],
  };
}

const version: LimitsVersion = {
  streamId: 'S',
  modelId: 'M',
  version: 1,
  status: 'approved',
  mean: 10,
  withinSubgroupStandardDeviation: 0.1,
  meanStandardDeviation: null,
  method: 'range',
  baselineFrom: null,
  baselineTo: null,
  subgroupsUsed: 25,
  readingsUsed: 125,
  effectiveFrom: timeOf(0),
  reason: 'first',
  signalsExplained: false,
  personId: 'P',
  secondPersonId: 'Q',
  at: timeOf(0),
};

function review(samples: readonly Sample[], change: Partial<Review> = {}): Review {
  return {
    streamId: 'S',
    modelId: 'M',
    from: timeOf(0),
    to: timeOf(samples.length),
    truncated: false,
    samples: [...samples],
    signals: [],
    limits: [version],
    events: [],
    alarms: [],
    explainedSignals: [],
    gaps: [],
    gapsSince: timeOf(0),
    ...change,
  };
}

const plan = {
  locationRules: ['one-beyond-three-sigma' as const],
  spreadRules: ['one-beyond-three-sigma' as const],
  meanLimitsFrom: 'within-subgroup' as const,
  sampleSize: 5,
  raisesAlarms: true,
  remark: '',
};
const unbounded = { lowerNaturalBound: null, upperNaturalBound: null };
const specification = {
  characteristicId: 'C',
  modelId: 'M',
  nominal: 10,
  lowerSpecificationLimit: 9.3,
  upperSpecificationLimit: 10.7,
};
const signal = (index: number, change: Partial<Signal> = {}): Signal => ({
  id: index + 1,
  sampleId: idOf(index),
  chart: 'location',
  rule: 'one-beyond-three-sigma',
  side: 'above',
  points: [idOf(index)],
  sentence: 'The sample average is above its upper control limit.',
  withdrawn: false,
  ...change,
});
const studyFrom = (given: Review) => studyOf(given, plan, 'mean-range', unbounded);
const quiet = quietReadings(60, 5);

describe('a study of a period', () => {
  it('draws the limits of the version that judged each sample', () => {
    const newer = { ...version, version: 2, withinSubgroupStandardDeviation: 0.2 };
    const samples = quiet.slice(0, 6).map((readings, index) => sample(index, readings, index < 3 ? 1 : 2));
    const study = studyFrom(review(samples, { limits: [version, newer] }));
    // Mean ± 3σ/√n with σ 0.1 and 0.2, n 5.
    expect(study.points[0]!.location.limits!.upperControlLimit).toBeCloseTo(10 + 0.3 / Math.sqrt(5), 10);
    expect(study.points[5]!.location.limits!.upperControlLimit).toBeCloseTo(10 + 0.6 / Math.sqrt(5), 10);
    expect(study.versionStarts).toEqual([{ index: 3, version: 2 }]);
    expect(study.limitsFrom).toBe('frozen');
  });

  it('lets the limits follow the number of readings present', () => {
    const samples = [
      sample(0, [10, 10.1, 9.9, 10, 10], 1),
      { ...sample(1, [10, 10.1], 1), readings: [{ value: 10 }, { value: 10.1 }, { value: null }] },
    ];
    const study = studyFrom(review(samples));
    expect(study.points[1]!.statistics.size).toBe(2);
    expect(study.points[1]!.location.limits!.upperControlLimit).toBeCloseTo(10 + 0.3 / Math.sqrt(2), 10);
  });

  it('leaves samples taken before any limits without limits, but with their values', () => {
    const samples = quiet.slice(0, 6).map((readings, index) => sample(index, readings, index < 3 ? null : 1));
    const study = studyFrom(review(samples));
    expect(study.points[0]!.location.limits).toBeNull();
    expect(study.points[0]!.location.value).not.toBeNull();
    expect(study.points[3]!.location.limits).not.toBeNull();
  });

  it('judges a period without frozen limits by limits from itself, and finds what they show', () => {
    const samples = quiet
      .slice(0, 30)
      .map((readings, index) =>
        sample(index, index === 20 ? readings.map((one) => one + 0.5) : readings, null),
      );
    const study = studyFrom(review(samples, { limits: [] }));
    expect(study.limitsFrom).toBe('period');
    expect(study.signals.map((one) => [one.number, one.index, one.chart])).toEqual([[1, 20, 'location']]);
    expect(study.points[20]!.location.beyond).toBe(true);
  });

  it('numbers the recorded signals in the order of their points and keeps withdrawn ones apart', () => {
    const samples = quiet.slice(0, 6).map((readings, index) => sample(index, readings, 1));
    const study = studyFrom(
      review(samples, { signals: [signal(4), signal(1, { withdrawn: true }), signal(99)] }),
    );
    expect(study.signals.map((one) => [one.number, one.index, one.withdrawn])).toEqual([
      [1, 1, true],
      [2, 4, false],
    ]);
    expect(assess(study, unbounded, specification, plan).stability).toMatchObject({
      signals: 1,
      withdrawn: 1,
    });
  });

  it('finds the events between the samples beside a point', () => {
    const event = (hours: number): PlantEvent => ({
      id: idOf(1000 + hours * 10),
      lineId: 'L',
      stationId: null,
      streamId: null,
      kind: 'coil',
      at: new Date(START + hours * HOUR).toISOString(),
      until: null,
      modelId: null,
      lot: 'a',
      text: '',
      personId: 'P',
      recordedAt: timeOf(0),
    });
    const samples = quiet.slice(0, 6).map((readings, index) => sample(index, readings, 1));
    const study = studyFrom(review(samples, { events: [event(0.5), event(1.5), event(3), event(3.5)] }));
    expect(eventsNear(study, 2).map((one) => one.at)).toEqual([event(1.5).at, event(3).at]);
    const marks = eventMarks(
      study.events,
      study.points.map((point) => point.time),
      { first: 0, last: 5 },
      600,
    );
    expect(marks.map((mark) => [mark.left, mark.events.length])).toEqual([
      [100, 1],
      [200, 1],
      [300, 1],
      [400, 1],
    ]);
    const crowded = eventMarks(
      study.events,
      study.points.map((point) => point.time),
      { first: 0, last: 5 },
      120,
    );
    expect(crowded.map((mark) => mark.events.length)).toEqual([3, 1]);
    expect(tellingKind([event(1), { ...event(2), kind: 'tool change' }])).toBe('tool change');
  });
});

describe('missing samples', () => {
  const declared = (due: number, reason: string) => ({
    streamId: 'S',
    dueAt: timeOf(due),
    reason,
    personId: 'P',
    at: timeOf(due),
  });
  const gap = (before: number, after: number, reasons: string[] = []): SampleGap => ({
    before: timeOf(before),
    after: timeOf(after),
    firstDueAt: timeOf(before + 1),
    lastDueAt: timeOf(after - 1),
    missing: after - before - 1,
    declared: reasons.map((reason, place) => declared(before + 1 + place, reason)),
  });

  it('are told in words, with the reasons', () => {
    expect(gapSentence(gap(0, 4), 0)).toBe(
      '3 samples missing, 2025-09-01 06:30 to 10:30; nobody has said why',
    );
    expect(gapSentence(gap(0, 4, ['Gauge away.', 'Gauge away.', 'Gauge away.']), 0)).toBe(
      '3 samples missing, 2025-09-01 06:30 to 10:30; reason: Gauge away',
    );
    expect(gapSentence(gap(0, 3, ['Nobody there']), 120)).toBe(
      '2 samples missing, 2025-09-01 08:30 to 11:30; reason: Nobody there (1 of them without a reason)',
    );
    expect(gapSentence(gap(15, 24), 0)).toContain('2025-09-01 21:30 to 2025-09-02 06:30');
    expect(gapSentence({ ...gap(0, 2, ['Ill']), after: null }, 0)).toBe(
      '1 sample missing, 2025-09-01 06:30 to 07:30; reason: Ill',
    );
  });

  it('stand on the time line before the sample that came after them, near ones together', () => {
    const times = [0, 1, 5, 6, 9, 10].map((index) => START + index * HOUR);
    const gaps = [gap(1, 5), gap(6, 9)];
    const far = gapMarks(gaps, times, { first: 0, last: 5 }, 1200);
    // Neither has room for a sentence, before it or after it.
    expect(far.map(({ left, room, side, index }) => [left, room, side, index])).toEqual([
      [400, 400, 'left', 2],
      [800, 400, 'left', 4],
    ]);
    const [late] = gapMarks(gaps.slice(1), times, { first: 0, last: 5 }, 900);
    expect(late).toMatchObject({ left: 0, room: 600, side: 'right' });
    const [alone] = gapMarks(gaps.slice(0, 1), times, { first: 0, last: 5 }, 1200);
    expect(alone).toMatchObject({ left: 400, room: 800, side: 'left' });
    const [near, ...others] = gapMarks(gaps, times, { first: 0, last: 5 }, 300);
    expect(others).toEqual([]);
    expect(shortGap(near!.gaps)).toBe('2 gaps, 5 missing');
    expect(gapMarks(gaps, times, { first: 3, last: 5 }, 600).map(({ index }) => index)).toEqual([4]);
  });

  it('break the line of both charts', () => {
    const samples = [0, 1, 5, 6].map((index) => sample(index, quiet[index]!, 1));
    const study = studyFrom(review(samples, { gaps: [gap(1, 5)] }));
    expect(chartSeries(study, 'location', 'mm').gapsBefore).toEqual([2]);
    expect(chartSeries(study, 'spread', 'mm').gapsBefore).toEqual([2]);
  });
});

describe('the verdict', () => {
  const steady = (signals: Signal[]) => {
    const study = studyFrom(
      review(
        quiet.map((readings, index) => sample(index, readings, 1)),
        { signals },
      ),
    );
    return headline(study, assess(study, unbounded, specification, plan));
  };

  it('says stable, shape and capability with n, bound and method', () => {
    const { kind, sentence, nextStep } = steady([]);
    expect(kind).toBe('fine');
    expect(sentence).toMatch(
      /^Stable, nothing against a normal shape; capable: Cpk 2\.\d\d from 300 readings/,
    );
    expect(sentence).toContain('95 % confidence at least');
    expect(sentence).toContain('Bissell');
    expect(nextStep).not.toBe('');
  });

  it('quotes no index from an unstable process, and says why', () => {
    const { kind, sentence, reasons } = steady([3, 9, 20, 21, 22].map((index) => signal(index)));
    expect(kind).toBe('call');
    expect(sentence).toMatch(/^Not stable, .*no capability index may be quoted/);
    expect(reasons.join(' ')).toContain('5 signals on 60 points');
  });

  it('asks for a look at signals that chance explains', () => {
    const { sentence, nextStep } = steady([signal(3)]);
    expect(sentence).toMatch(/^Stable/);
    // 60 means and 60 ranges, each outside by chance with 0.27 %: 0.3.
    expect(nextStep).toContain('(1) is not clearly more than chance gives (0.3 expected)');
  });

  it('says of a chart whose signals call nobody that it cannot judge, why, and what to do instead', () => {
    const study = studyFrom(
      review(
        quiet.map((readings, index) => sample(index, readings, 1)),
        { signals: Array.from({ length: 30 }, (_, index) => signal(index)) },
      ),
    );
    const remark = 'The strip moves from coil to coil.';
    const assessment = assess(study, unbounded, specification, { ...plan, raisesAlarms: false, remark });
    expect(assessment.verdict.level).toBe('not-to-be-quoted');
    const { kind, sentence, reasons, nextStep } = headline(study, assessment);
    expect(kind).toBe('ask');
    expect(sentence).toMatch(/^This chart cannot judge stability, .*no capability index may be quoted/);
    expect(reasons).toEqual([`This chart cannot judge whether the process is stable. ${remark}`]);
    expect(nextStep).toMatch(/^Judge the parts by the specification/);
    expect(nextStep).not.toContain('Find the cause');
  });

  it('brings the remark of the plan where known wear explains signals', () => {
    const signals = Array.from({ length: 9 }, (_, index) => signal(index));
    const study = studyFrom(
      review(
        quiet.map((readings, index) => sample(index, readings, 1)),
        { signals, explainedSignals: [1, 2, 3, 777] },
      ),
    );
    const assessment = assess(study, unbounded, specification, { ...plan, remark: 'The punch wears.' });
    expect(assessment.stability).toMatchObject({ signals: 9, explained: 3 });
    const { sentence, nextStep } = headline(study, assessment);
    expect(sentence).toMatch(/^Not stable/);
    expect(nextStep).toContain('Find the cause of the signals');
    expect(nextStep).toContain('The plan of this stream says: “The punch wears.”');
  });

  it('has words for the shape that fit the level of the test', () => {
    const study = studyFrom(review(quiet.map((readings, index) => sample(index, readings, 1))));
    const assessment = assess(study, unbounded, specification, plan);
    const at = (pValue: number) => ({
      ...assessment,
      ...shapeEvidence({
        available: true,
        statistic: 1,
        adjustedStatistic: 0.76,
        pValue,
        sampleSize: 90,
        mean: 0,
        standardDeviation: 1,
        message: '',
      }),
    });
    expect(shapeInWords(at(0.2))).toContain('Nothing speaks against a normal shape');
    expect(headline(study, at(0.2)).sentence).toContain('nothing against a normal shape');
    const weak = 'p = 0.046: weak evidence against a normal shape, not enough at the 1 % level used';
    expect(shapeInWords(at(0.0457))).toContain(weak);
    expect(shapeInWords(at(0.0457))).not.toContain('Nothing speaks');
    expect(headline(study, at(0.0457)).sentence).toContain(
      'weak evidence against a normal shape (p = 0.046)',
    );
    expect(shapeInWords(at(0.01))).toContain('weak evidence');
    expect(shapeInWords(at(0.1))).toContain('Nothing speaks');
    expect(shapeInWords(at(0.0099))).toContain('would almost never look like this');
    expect(headline(study, at(0.0099)).sentence).toContain('not normal in shape');
  });

  it('says that it does not know without limits or without enough samples', () => {
    const study = studyFrom(
      review(
        quiet.slice(0, 5).map((readings, index) => sample(index, readings, 1)),
        {},
      ),
    );
    const { kind, sentence } = headline(study, assess(study, unbounded, specification, plan));
    expect(kind).toBe('ask');
    expect(sentence).toMatch(/^Stability not known/);
  });

  it('has no index without a specification, and quotes none where means move by themselves', () => {
    const study = studyFrom(review(quiet.map((readings, index) => sample(index, readings, 1))));
    expect(assess(study, unbounded, null, plan).capability).toMatchObject({ available: false });
    const moving = assess(study, unbounded, specification, {
      ...plan,
      meanLimitsFrom: 'moving-range-of-means',
    });
    expect(moving.verdict).toMatchObject({ level: 'not-to-be-quoted', index: null });
    expect(moving.chartCannotJudge).toContain('moving range of the means');
  });

  it('expects 0.27 % of the points of both charts by chance', () => {
    const study = studyFrom(review(quiet.map((readings, index) => sample(index, readings, 1))));
    // scipy 1.17.1: 120 · 2 · norm.sf(3).
    expect(assess(study, unbounded, specification, plan).stability?.expectedFalseSignals).toBeCloseTo(
      0.32397552759158,
      10,
    );
  });
});

describe('trial limits', () => {
  it('stand beside the old ones, with the signals that they would have silenced or raised', () => {
    // Half of the period 0.3 higher: the old limits see it, limits from all of it are wide of neither half.
    const shifted = quiet.map((readings, index) =>
      index < 40 ? readings : readings.map((one) => one + 0.3),
    );
    const samples = shifted.map((readings, index) => sample(index, readings, 1));
    const recorded = Array.from({ length: 20 }, (_, step) => signal(40 + step));
    const study = studyFrom(review(samples, { signals: recorded }));
    const outcome = trialLimits(study, 'range', plan);
    if (!outcome.available) throw new Error(outcome.message);
    const { trial } = outcome;
    expect(trial.subgroupsUsed).toBe(60);
    expect(trial.readingsUsed).toBe(300);
    expect(trial.old?.version.version).toBe(1);
    expect(trial.standard.mean).toBeCloseTo(10.1, 2);
    expect(trial.silenced.length).toBeGreaterThan(0);
    expect(trial.silenced.length + trial.raised.length - trial.added.length).toBe(20);
    expect(trial.toExplain).toHaveLength(20 + trial.added.length);
  });

  it('ask to explain the signals that they raise in their own period, where nothing was frozen yet', () => {
    const samples = quiet
      .slice(0, 30)
      .map((readings, index) =>
        sample(index, index === 20 ? readings.map((one) => one + 0.5) : readings, null),
      );
    const outcome = trialLimits(studyFrom(review(samples, { limits: [] })), 'range', plan);
    if (!outcome.available) throw new Error(outcome.message);
    expect(outcome.trial.toExplain.map(({ index }) => index)).toEqual([20]);
    const undisturbed = quiet.slice(0, 30).map((readings, index) => sample(index, readings, null));
    const calm = trialLimits(studyFrom(review(undisturbed, { limits: [] })), 'range', plan);
    expect(calm).toMatchObject({ available: true, trial: { toExplain: [] } });
  });

  it('do not exist for a period without samples or without variation', () => {
    expect(trialLimits(studyFrom(review([])), 'range', plan).available).toBe(false);
    const still = studyFrom(review([0, 1, 2].map((index) => sample(index, [10, 10, 10], 1))));
    expect(trialLimits(still, 'range', plan).available).toBe(false);
  });
});

describe('new limits against the drawing', () => {
  const sentences = (
    lower: number | null,
    upper: number | null,
    change: Partial<typeof specification> = {},
  ) =>
    limitsAgainstSpecification(
      { centerLine: 10, standardDeviation: 0.2, lowerControlLimit: lower, upperControlLimit: upper },
      { ...specification, ...change },
      'mean',
      String,
    );

  it('say nothing where they stay within it', () => {
    expect(sentences(9.3, 10.7)).toEqual([]);
    expect(
      limitsAgainstSpecification(
        { centerLine: 10, standardDeviation: 0.2, lowerControlLimit: 1, upperControlLimit: 20 },
        { lowerSpecificationLimit: null, upperSpecificationLimit: null },
        'mean',
        String,
      ),
    ).toEqual([]);
  });

  it('say so where they are wider than all of it', () => {
    const [first, ...others] = sentences(9.2, 10.8);
    expect(first).toContain(
      'wider than the whole specification: even a mean outside the drawing would raise no signal',
    );
    expect(others).toHaveLength(2);
    expect(sentences(null, 10.8)[0]).toContain('wider than the whole specification');
  });

  it('name the limit that lies beyond a specification limit', () => {
    expect(sentences(9.5, 10.8)).toEqual([
      'The upper control limit of the mean, 10.8, lies above the upper specification limit, 10.7: a mean too high for the drawing can pass without a signal.',
    ]);
    expect(sentences(9.1, 10.5)[0]).toMatch(
      /^The lower control limit of the mean, 9.1, lies below .* too low/,
    );
    expect(sentences(9, 20, { upperSpecificationLimit: null as never })).toHaveLength(1);
    expect(sentences(null, 10)[0]).toMatch(/^The mean has no lower control limit.*9.3: a mean too low/);
    expect(sentences(11, 12)).toEqual([expect.stringMatching(/^Both control limits .* above .*10.7/)]);
    expect(sentences(8, 9)).toEqual([expect.stringMatching(/^Both control limits .* below .*9.3/)]);
  });
});

describe('limits from a time in the past', () => {
  const samples = [0, 1, 2].map((index) => sample(index, [10, 10], 1));

  it('name the samples that are judged anew and the signals that may go', () => {
    const found = (change: Partial<Review>) => judgedAnewSentence(review(samples, change));
    expect(found({})).toBe(
      'This time lies in the past: 3 samples taken since then would be judged anew by the new limits. They carry no signal now, and may get some.',
    );
    expect(found({ signals: [signal(1), signal(2), signal(0, { withdrawn: true })] })).toContain(
      'The 2 signals on them may be withdrawn',
    );
    expect(found({ signals: [signal(1), signal(2)], truncated: true })).toMatch(
      /more than 3 samples .* At least 2 signals on them/,
    );
    expect(judgedAnewSentence(review(samples.slice(0, 1), { signals: [signal(0)] }))).toMatch(
      /: 1 sample taken .* The signal on it may be withdrawn/,
    );
  });

  it('say nothing where no sample with readings was taken since', () => {
    expect(judgedAnewSentence(review([]))).toBeNull();
    expect(judgedAnewSentence(review([{ ...samples[0]!, readings: null }]))).toBeNull();
  });
});

describe('address and plant time', () => {
  it('survive a round trip', () => {
    const address = { streamId: 'C5-R1', modelId: 'Q10', from: timeOf(0), to: null };
    expect(readAddress(writeAddress(address))).toEqual(address);
    expect(readAddress('?stream=a&from=nonsense')).toEqual({
      streamId: 'a',
      modelId: null,
      from: null,
      to: null,
    });
  });

  it('are written in plant-local time', () => {
    expect(toLocalField('2025-09-01T06:30:00Z', 120)).toBe('2025-09-01T08:30');
    expect(fromLocalField('2025-09-01T08:30', 120)).toBe('2025-09-01T06:30:00.000Z');
    expect(fromLocalField('', 120)).toBeNull();
  });
});
