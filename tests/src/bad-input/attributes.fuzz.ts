import fc from 'fast-check';
import { anyCounts, anyNumber, anyNumbers, type FuzzedFunctions, mostly } from './hostile.ts';

const count = mostly(fc.nat({ max: 12 }), anyNumber);
const size = mostly(fc.integer({ min: 12, max: 300 }), anyNumber);
const sample = fc.option(fc.record({ count, size }), { freq: 8 });
const samples = fc.oneof(
  fc.array(
    fc.option(fc.record({ count: fc.nat({ max: 12 }), size: fc.integer({ min: 12, max: 300 }) }), {
      freq: 8,
    }),
    {
      maxLength: 25,
    },
  ),
  fc.array(sample, { maxLength: 6 }),
);
const proportion = mostly(fc.double({ min: 0, max: 1, noNaN: true }), anyNumber);
const rate = mostly(fc.double({ min: 0, max: 50, noNaN: true }), anyNumber);
const maybe = <T>(arbitrary: fc.Arbitrary<T>) => fc.option(arbitrary, { nil: undefined });
const multiple = maybe(mostly(fc.constantFrom(2, 2.5, 3), anyNumber));
const falseAlarmProbability = maybe(mostly(fc.constantFrom(0.00135, 0.005, 1e-12), anyNumber));

const chart = (standard: fc.Arbitrary<number>) =>
  fc.tuple(samples, fc.record({ standard: maybe(standard), multiple, falseAlarmProbability }));
const point = (standard: fc.Arbitrary<number>) =>
  fc.tuple(sample, fc.record({ standard, multiple, falseAlarmProbability }));
const zStandardDeviation = mostly(fc.constantFrom(0.5, 1, 4), anyNumber);
const primeChart = (standard: fc.Arbitrary<number>) =>
  fc.tuple(
    samples,
    fc.record({ standard: maybe(standard), zStandardDeviation: maybe(zStandardDeviation), multiple }),
  );
const primePoint = (standard: fc.Arbitrary<number>) =>
  fc.tuple(sample, fc.record({ standard, zStandardDeviation, multiple }));

/** Counts and sizes as columns, mostly of one length. */
const columns = fc.oneof(
  fc
    .array(fc.tuple(fc.nat({ max: 12 }), fc.integer({ min: 12, max: 300 })), { maxLength: 25 })
    .map((pairs) => [pairs.map(([x]) => x), pairs.map(([, n]) => n)] as const),
  fc.tuple(anyCounts, anyNumbers),
  fc
    .array(fc.tuple(count, size), { maxLength: 6 })
    .map((pairs) => [pairs.map(([x]) => x), pairs.map(([, n]) => n)] as const),
);
const countColumns = (settings: fc.Arbitrary<unknown>) =>
  fc
    .tuple(columns, settings)
    .map(([[counts, sizes], given]) => [Float64Array.from(counts), Float64Array.from(sizes), given] as const);
const column = (settings: fc.Arbitrary<unknown>) =>
  fc.tuple(anyCounts, settings).map(([counts, given]) => [Float64Array.from(counts), given] as const);
const plainSettings = (standard: fc.Arbitrary<number>) =>
  fc.record({ standard, multiple, falseAlarmProbability });

const withMissing = fc.oneof(anyCounts, fc.array(fc.option(count, { freq: 6 }), { maxLength: 20 }));
const gSettings = {
  limits: maybe(fc.constantFrom('exact-probability', 'standard-deviation', 'plain')),
  falseAlarmProbability,
  multiple,
};
const powerStandard = fc.record({ mean: rate, standardDeviation: rate });

const cusumSettings = (level: fc.Arbitrary<number>) =>
  fc.record({
    inControl: level,
    outOfControl: level,
    decisionInterval: mostly(fc.double({ min: 0.5, max: 9, noNaN: true }), anyNumber),
    headStart: maybe(mostly(fc.constantFrom(0, 0.5), anyNumber)),
  });
const cusumState = fc.record({
  index: mostly(fc.nat(), anyNumber),
  sum: mostly(fc.double({ min: 0, max: 9, noNaN: true }), anyNumber),
  since: mostly(fc.constant(0), anyNumber),
});

export const fuzzed: FuzzedFunctions = {
  pChart: chart(proportion),
  pPoint: point(proportion),
  pColumns: countColumns(plainSettings(proportion)),
  npChart: chart(proportion),
  npPoint: point(proportion),
  npColumns: countColumns(plainSettings(proportion)),
  uChart: chart(rate),
  uPoint: point(rate),
  uColumns: countColumns(plainSettings(rate)),
  cChart: fc.tuple(withMissing, fc.record({ standard: maybe(rate), multiple, falseAlarmProbability })),
  cPoint: fc.tuple(fc.option(count), plainSettings(rate)),
  cColumns: column(plainSettings(rate)),
  pPrimeChart: primeChart(proportion),
  pPrimePoint: primePoint(proportion),
  pPrimeColumns: countColumns(fc.record({ standard: proportion, zStandardDeviation, multiple })),
  uPrimeChart: primeChart(rate),
  uPrimePoint: primePoint(rate),
  uPrimeColumns: countColumns(fc.record({ standard: rate, zStandardDeviation, multiple })),
  gChart: fc.tuple(withMissing, fc.record({ standard: maybe(rate), ...gSettings })),
  gPoint: fc.tuple(fc.option(count), fc.record({ standard: rate, ...gSettings })),
  gColumns: column(fc.record({ standard: rate, ...gSettings })),
  tChart: fc.tuple(withMissing, fc.record({ standard: maybe(rate), falseAlarmProbability })),
  tPoint: fc.tuple(fc.option(rate), fc.record({ standard: rate, falseAlarmProbability })),
  tColumns: column(fc.record({ standard: rate, falseAlarmProbability })),
  tPowerChart: fc.tuple(withMissing, fc.record({ standard: maybe(powerStandard), multiple })),
  tPowerPoint: fc.tuple(fc.option(rate), fc.record({ standard: powerStandard, multiple })),
  tPowerColumns: column(fc.record({ standard: powerStandard, multiple })),
  countDispersion: fc.tuple(
    samples,
    fc.record({
      distribution: fc.constantFrom('binomial', 'poisson', 'normal'),
      standard: maybe(proportion),
      significance: maybe(proportion),
    }),
  ),
  binomialProbabilityLimits: fc.tuple(fc.record({ size, proportion, falseAlarmProbability })),
  poissonProbabilityLimits: fc.tuple(fc.record({ mean: rate, falseAlarmProbability })),
  geometricProbabilityLimits: fc.tuple(fc.record({ mean: rate, falseAlarmProbability })),
  binomialCusumChart: fc.tuple(samples, cusumSettings(proportion)),
  binomialCusumStart: fc.tuple(cusumSettings(proportion)),
  binomialCusumNext: fc.tuple(cusumState, sample, cusumSettings(proportion)),
  binomialCusumColumns: countColumns(cusumSettings(proportion)),
  poissonCusumChart: fc.tuple(samples, cusumSettings(rate)),
  poissonCusumStart: fc.tuple(cusumSettings(rate)),
  poissonCusumNext: fc.tuple(cusumState, sample, cusumSettings(rate)),
  poissonCusumColumns: countColumns(cusumSettings(rate)),
  countCusumRunLength: fc.tuple(
    fc.record({
      distribution: mostly(fc.constantFrom('binomial', 'poisson'), fc.constant('normal')),
      size: mostly(fc.integer({ min: 1, max: 50 }), anyNumber),
      level: mostly(fc.double({ min: 0, max: 1, noNaN: true }), anyNumber),
      referenceValue: fc.record({
        numerator: mostly(fc.integer({ min: 1, max: 9 }), anyNumber),
        denominator: mostly(fc.integer({ min: 1, max: 3 }), anyNumber),
      }),
      decisionInterval: mostly(fc.integer({ min: 1, max: 9 }), anyNumber),
      direction: maybe(mostly(fc.constantFrom('upward', 'downward'), fc.constant('both'))),
      headStart: maybe(mostly(fc.constantFrom(0, 1), anyNumber)),
    }),
  ),
};
