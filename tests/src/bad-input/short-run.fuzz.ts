import fc from 'fast-check';
import { anyCounts, anyNumber, anyNumbers, everydayNumber, type FuzzedFunctions, mostly } from './hostile.ts';

const maybe = <T>(arbitrary: fc.Arbitrary<T>) => fc.option(arbitrary, { nil: undefined });
const multiple = maybe(mostly(fc.constantFrom(2, 2.5, 3), anyNumber));
const level = mostly(everydayNumber, anyNumber);
const spread = mostly(fc.double({ min: 0.01, max: 5, noNaN: true }), anyNumber);
const part = mostly(fc.constantFrom('A', 'B'), fc.constantFrom('C', ''));

const readings = fc.oneof(
  fc.array(fc.option(everydayNumber, { freq: 8 }), { maxLength: 6 }),
  fc.array(fc.option(level, { freq: 8 }), { maxLength: 4 }),
);
const partSample = fc.record({ part, readings });
const partSamples = fc.oneof(
  fc.array(
    fc.record({ part: fc.constantFrom('A', 'B'), readings: fc.array(everydayNumber, { maxLength: 5 }) }),
    {
      maxLength: 12,
    },
  ),
  fc.array(partSample, { maxLength: 5 }),
);
const partValue = fc.record({ part, value: fc.option(level, { freq: 8 }) });
const partValues = fc.oneof(
  fc.array(fc.record({ part: fc.constantFrom('A', 'B'), value: fc.option(everydayNumber, { freq: 8 }) }), {
    maxLength: 12,
  }),
  fc.array(partValue, { maxLength: 5 }),
);
const models = <Fields>(fields: fc.Arbitrary<Fields>) =>
  fc.oneof(
    fc.tuple(fields, fields).map(([a, b]) => [
      { ...a, part: 'A' },
      { ...b, part: 'B' },
    ]),
    fc.constant([]),
    fc.tuple(fields, fields).map(([a, b]) => [
      { ...a, part: 'A' },
      { ...b, part: 'A' },
    ]),
  );
const nominalModels = models(fc.record({ nominal: level }));
const standardisedModels = models(fc.record({ target: level, averageRange: spread }));
const individualsModels = models(fc.record({ mean: level, standardDeviation: spread }));
const standard = fc.record({
  mean: level,
  withinSubgroupStandardDeviation: spread,
  meanStandardDeviation: fc.option(spread),
});
const subgroupSize = mostly(fc.integer({ min: 2, max: 4 }), anyNumber);
const state = fc.record({ index: mostly(fc.nat(), anyNumber), previous: fc.option(level) });

/** Readings and the places of their models, mostly three readings a sample. */
const columns = (settings: fc.Arbitrary<unknown>, each: number) =>
  fc
    .tuple(
      fc.array(
        fc.tuple(fc.constantFrom(0, 1), fc.array(everydayNumber, { minLength: each, maxLength: each })),
        { maxLength: 9 },
      ),
      mostly(fc.constant(null), anyNumbers),
      mostly(fc.constant(0), fc.constant(2)),
      settings,
    )
    .map(
      ([samples, bad, shift, given]) =>
        [
          Float64Array.from(bad ?? samples.flatMap(([, values]) => values)),
          Uint16Array.from(samples, ([place]) => place + shift),
          given,
        ] as const,
    );

const qValues = fc.oneof(anyNumbers, fc.array(fc.option(everydayNumber, { freq: 5 }), { maxLength: 20 }));
const qKnown = { mean: maybe(level), standardDeviation: maybe(spread) };
const parts = maybe(fc.array(fc.constantFrom('A', 'B'), { maxLength: 20 }));
const whole = mostly(fc.nat({ max: 40 }), anyNumber);
const squares = mostly(fc.double({ min: 0, max: 100, noNaN: true }), anyNumber);
const column = (settings: fc.Arbitrary<unknown>) =>
  fc.tuple(anyNumbers, settings).map(([values, given]) => [Float64Array.from(values), given] as const);
const settings = fc.record({ ...qKnown, multiple });

const countSample = fc.option(
  fc.record({
    count: mostly(fc.nat({ max: 12 }), anyNumber),
    size: mostly(fc.integer({ min: 12, max: 300 }), anyNumber),
  }),
  { freq: 8 },
);
const countSamples = fc.oneof(
  fc.array(
    fc.option(fc.record({ count: fc.nat({ max: 3 }), size: fc.integer({ min: 3, max: 60 }) }), { freq: 8 }),
    { maxLength: 20 },
  ),
  fc.array(countSample, { maxLength: 5 }),
);
const countSettings = fc.record({
  standard: maybe(mostly(fc.double({ min: 0.01, max: 0.99, noNaN: true }), anyNumber)),
  multiple,
});
const countState = fc.record({
  index: whole,
  samples: whole,
  count: whole,
  size: mostly(fc.integer({ min: 40, max: 900 }), anyNumber),
});
const countColumns = fc
  .tuple(
    fc.oneof(
      fc
        .array(fc.tuple(fc.nat({ max: 3 }), fc.integer({ min: 3, max: 60 })), { maxLength: 20 })
        .map((pairs) => [pairs.map(([x]) => x), pairs.map(([, n]) => n)] as const),
      fc.tuple(anyCounts, anyNumbers),
    ),
    countSettings,
  )
  .map(([[counts, sizes], given]) => [Float64Array.from(counts), Float64Array.from(sizes), given] as const);
const withParts = (given: fc.Arbitrary<object>) =>
  fc.tuple(given, parts).map(([options, names]) => ({ ...options, parts: names }));
const robustSettings = fc.record({ centerLine: level, standardDeviation: spread, multiple });

export const fuzzed: FuzzedFunctions = {
  deviationFromNominalChart: fc.tuple(
    partSamples,
    fc.record({
      models: nominalModels,
      standard: maybe(standard),
      method: maybe(fc.constantFrom('range', 'pooled', 'none')),
      multiple,
    }),
  ),
  deviationFromNominalPoint: fc.tuple(partSample, fc.record({ models: nominalModels, standard, multiple })),
  deviationFromNominalColumns: columns(
    fc.record({
      models: nominalModels,
      standard,
      multiple,
      subgroupSize: mostly(fc.constant(3), subgroupSize),
    }),
    3,
  ),
  deviationFromNominalIndividualsChart: fc.tuple(
    partValues,
    fc.record({ models: nominalModels, standard: maybe(standard), multiple }),
  ),
  deviationFromNominalIndividualsStart: fc.tuple(),
  deviationFromNominalIndividualsNext: fc.tuple(
    state,
    partValue,
    fc.record({ models: nominalModels, standard, multiple }),
  ),
  deviationFromNominalIndividualsColumns: columns(
    fc.record({ models: nominalModels, standard, multiple }),
    1,
  ),
  standardisedChart: fc.tuple(partSamples, fc.record({ models: standardisedModels, subgroupSize, multiple })),
  standardisedPoint: fc.tuple(partSample, fc.record({ models: standardisedModels, subgroupSize, multiple })),
  standardisedColumns: columns(
    fc.record({ models: standardisedModels, multiple, subgroupSize: mostly(fc.constant(3), subgroupSize) }),
    3,
  ),
  standardisedIndividualsChart: fc.tuple(partValues, fc.record({ models: individualsModels, multiple })),
  standardisedIndividualsStart: fc.tuple(),
  standardisedIndividualsNext: fc.tuple(state, partValue, fc.record({ models: individualsModels, multiple })),
  standardisedIndividualsColumns: columns(fc.record({ models: individualsModels, multiple }), 1),
  qMeanChart: fc.tuple(qValues, withParts(settings)),
  qMeanStart: fc.tuple(),
  qMeanNext: fc.tuple(
    fc.record({ index: whole, count: whole, mean: level, squares }),
    fc.option(level),
    settings,
  ),
  qMeanColumns: column(settings),
  qVarianceChart: fc.tuple(qValues, withParts(settings)),
  qVarianceStart: fc.tuple(),
  qVarianceNext: fc.tuple(
    fc.record({ index: whole, first: fc.option(level), pairs: whole, squares }),
    fc.option(level),
    settings,
  ),
  qVarianceColumns: column(settings),
  qSubgroupChart: fc.tuple(fc.array(readings, { maxLength: 8 }), withParts(settings)),
  qSubgroupStart: fc.tuple(),
  qSubgroupNext: fc.tuple(
    fc.record({ index: whole, subgroups: whole, readings: whole, mean: level, squares }),
    readings,
    settings,
  ),
  qSubgroupColumns: column(
    fc.record({ ...qKnown, multiple, subgroupSize: mostly(fc.constantFrom(2, 3), anyNumber) }),
  ),
  qBinomialChart: fc.tuple(countSamples, withParts(countSettings)),
  qBinomialStart: fc.tuple(),
  qBinomialNext: fc.tuple(countState, countSample, countSettings),
  qBinomialColumns: countColumns,
  qPoissonChart: fc.tuple(countSamples, withParts(countSettings)),
  qPoissonStart: fc.tuple(),
  qPoissonNext: fc.tuple(countState, countSample, countSettings),
  qPoissonColumns: countColumns,
  robustStatistics: fc.tuple(anyNumbers),
  robustLimitsChart: fc.tuple(
    qValues,
    fc.record({
      location: maybe(fc.constantFrom('median', 'Hodges-Lehmann', 'mean')),
      spread: maybe(fc.constantFrom('median-absolute-deviation', 'interquartile-range', 'range')),
      multiple,
    }),
  ),
  robustLimitsPoint: fc.tuple(fc.option(level), robustSettings),
  robustLimitsColumns: column(robustSettings),
};
