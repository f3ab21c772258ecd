/** Hostile arguments for what watches a stream live: charts, run rules, questions, verdicts, windows, plans. */
import fc from 'fast-check';
import { runRuleNames } from '../../../src/index.ts';
import {
  anyNumber,
  anyNumbers,
  everydayNumber,
  everydayNumbers,
  type FuzzedFunctions,
  mostly,
} from './hostile.ts';

const maybe = <T>(value: fc.Arbitrary<T>) => fc.option(value, { freq: 4 });
const number = mostly(everydayNumber, anyNumber);
const positive = mostly(
  fc.integer({ min: 1, max: 4000 }).map((n) => n / 1000),
  anyNumber,
);
const smallWhole = mostly(fc.integer({ min: 1, max: 12 }), anyNumber);
const bound = maybe(number);

const subgroup = fc.oneof(fc.array(maybe(number), { maxLength: 6 }), anyNumbers);
const subgroups = fc.array(subgroup, { maxLength: 15 });
const standard = fc.record({
  mean: number,
  withinSubgroupStandardDeviation: positive,
  meanStandardDeviation: maybe(positive),
});
const chartOptions = {
  standard,
  multiple: positive,
  lowerNaturalBound: bound,
  upperNaturalBound: bound,
};
const estimateMethods = [
  'range',
  'standard-deviation',
  'range-minimum-variance',
  'standard-deviation-minimum-variance',
  'pooled',
  'pooled-unbiased',
];
const chartKinds = ['mean-range', 'mean-standard-deviation', 'individuals-moving-range', 'unheard-of'];
const subgroupOptions = fc.record(
  {
    ...chartOptions,
    method: fc.constantFrom(...estimateMethods, 'unheard-of'),
    meanLimitsFrom: fc.constantFrom('within-subgroup', 'moving-range-of-means'),
  },
  { requiredKeys: [] },
);
const statistics = fc
  .oneof(
    { weight: 3, arbitrary: fc.array(fc.tuple(smallWhole, number, positive, positive), { maxLength: 20 }) },
    {
      weight: 1,
      arbitrary: fc.array(fc.tuple(anyNumber, anyNumber, anyNumber, anyNumber), { maxLength: 8 }),
    },
  )
  .map((rows) =>
    rows.map(([size, mean, range, standardDeviation]) =>
      size === 1
        ? { size, mean, range: null, standardDeviation: null }
        : { size, mean, range, standardDeviation },
    ),
  );
const rules = fc.record(
  {
    rules: fc.subarray([...runRuleNames] as string[]),
    oneSideRunLength: mostly(fc.constantFrom(7, 8, 9), anyNumber),
    outsideMustBeOnBothSides: fc.boolean(),
  },
  { requiredKeys: ['rules'] },
);
const settings = fc.record({
  kind: fc.constantFrom(...chartKinds),
  locationRules: rules,
  spreadRules: rules,
  lowerNaturalBound: bound,
  upperNaturalBound: bound,
});
const time = mostly(fc.integer({ min: 1_600_000_000_000, max: 1_600_600_000_000 }), anyNumber);
const calendar = {
  runningHours: fc.record({
    start: mostly(fc.constantFrom('06:00', '00:00'), fc.string()),
    end: mostly(fc.constantFrom('22:00', '24:00'), fc.string()),
    weekdays: fc.array(mostly(fc.integer({ min: 1, max: 7 }), anyNumber), { maxLength: 7 }),
  }),
  utcOffsetMinutes: mostly(fc.integer({ min: -600, max: 600 }), anyNumber),
};
const stoppages = fc.array(fc.record({ from: time, to: maybe(time) }), { maxLength: 4 });
const count = fc.record({
  inspected: mostly(fc.integer({ min: 1, max: 400 }), anyNumber),
  nonconforming: mostly(fc.integer({ min: 0, max: 20 }), anyNumber),
});

export const fuzzed: FuzzedFunctions = {
  estimateStandard: fc.tuple(
    statistics,
    fc.record(
      {
        method: fc.constantFrom(...estimateMethods, 'moving-range', 'unheard-of'),
        meanLimitsFrom: fc.constantFrom('within-subgroup', 'moving-range-of-means'),
        movingRangeSpan: smallWhole,
      },
      { requiredKeys: ['method'] },
    ),
  ),
  evaluateNewest: fc.tuple(statistics, standard, settings),
  evaluateSeries: fc.tuple(statistics, standard, settings),
  windowLength: fc.tuple(settings),
  evaluateReadings: fc
    .tuple(
      fc.oneof(everydayNumbers, anyNumbers),
      fc.record(
        {
          subgroupSize: smallWhole,
          standard,
          locationRules: rules,
          spreadRules: rules,
          lowerNaturalBound: bound,
          upperNaturalBound: bound,
        },
        { requiredKeys: ['subgroupSize', 'locationRules', 'spreadRules'] },
      ),
      fc.boolean(),
    )
    .map(([readings, options, whole]) => {
      const size = options.subgroupSize;
      const length =
        whole && size > 0 && size < readings.length ? readings.length - (readings.length % size) : undefined;
      return [Float64Array.from(readings.slice(0, length)), options];
    }),
  individualsAndMovingRangeChart: fc.tuple(
    fc.oneof(fc.array(maybe(number), { maxLength: 30 }), anyNumbers),
    fc.record({ ...chartOptions, movingRangeSpan: smallWhole }, { requiredKeys: [] }),
  ),
  meanAndRangeChart: fc.tuple(subgroups, subgroupOptions),
  meanAndStandardDeviationChart: fc.tuple(subgroups, subgroupOptions),
  pointLimits: fc.tuple(
    fc.constantFrom(...chartKinds),
    standard,
    smallWhole,
    fc.record(
      { lowerNaturalBound: bound, upperNaturalBound: bound, multiple: positive, movingRangeSpan: smallWhole },
      { requiredKeys: [] },
    ),
  ),
  suspectWindow: fc.tuple(
    fc.record({
      ...calendar,
      stoppages,
      lastGoodAt: maybe(time),
      firstSuspectAt: maybe(time),
      until: time,
      partsPerHour: positive,
      lots: fc.array(fc.record({ from: time, lot: fc.string() }), { maxLength: 4 }),
    }),
  ),
  compareCount: fc.tuple(count, fc.array(count, { maxLength: 12 })),
  limitPassed: fc.tuple(
    number,
    fc.record({ lowerSpecificationLimit: bound, upperSpecificationLimit: bound }),
  ),
  questionValue: fc.tuple(
    number,
    fc.record({
      mean: number,
      standardDeviation: positive,
      otherModels: fc.array(fc.record({ modelId: fc.string(), name: fc.string(), nominal: number }), {
        maxLength: 3,
      }),
      unit: fc.constantFrom('mm', 'in'),
      decimals: mostly(fc.integer({ min: 0, max: 4 }), anyNumber),
      lowerNaturalBound: bound,
      upperNaturalBound: bound,
    }),
  ),
  sampleVerdict: fc.tuple(
    fc.record({
      questions: fc.array(fc.record({ position: fc.nat(), sentence: fc.string() }), { maxLength: 2 }),
      signals: fc.array(fc.record({ sentence: fc.string() }), { maxLength: 2 }),
      outsideSpecification: fc.array(fc.nat(), { maxLength: 2 }),
      charted: fc.boolean(),
      hasLimits: fc.boolean(),
      raisesAlarms: fc.boolean(),
      remark: fc.string(),
      count: maybe(
        fc.record({ inspected: fc.nat(), nonconforming: fc.nat(), comparison: fc.constant(null) }),
      ),
    }),
  ),
  singleValueStandardDeviation: fc.tuple(standard, smallWhole),
  findSignals: fc.tuple(fc.oneof(fc.array(maybe(number), { maxLength: 40 }), anyNumbers), rules),
  signalSentence: fc.tuple(
    fc.record({
      rule: fc.constantFrom(...runRuleNames, 'unheard-of'),
      chart: fc.constantFrom('location', 'spread'),
      side: fc.constantFrom('above', 'below', 'both'),
      statistic: fc.constantFrom('mean', 'range', 'individual value', 'unheard-of'),
    }),
  ),
  chartFactors: fc.tuple(mostly(fc.integer({ min: 0, max: 110 }), anyNumber)),
  lagOneAutocorrelation: fc.tuple(anyNumbers),
  movingRanges: fc.tuple(anyNumbers, smallWhole),
  subgroupStatistics: fc.tuple(subgroup),
  dueSamples: fc.tuple(
    fc.record({
      ...calendar,
      stoppages,
      plans: fc.array(
        fc.record({
          firstSampleAt: mostly(fc.constantFrom('06:30', '00:00'), fc.string()),
          intervalMinutes: mostly(fc.integer({ min: 15, max: 3000 }), anyNumber),
          since: fc.option(time),
        }),
        { maxLength: 3 },
      ),
      from: time,
      to: time,
      now: time,
      takenAt: fc.array(time, { maxLength: 6 }),
      declaredMissed: fc.array(time, { maxLength: 3 }),
    }),
  ),
};
