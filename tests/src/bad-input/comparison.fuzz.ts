import fc from 'fast-check';
import { linearRegression } from '../../../src/index.ts';
import {
  anyCounts,
  anyNumber,
  anyNumbers,
  everydayNumber,
  everydayNumbers,
  type FuzzedFunctions,
  mostly,
} from './hostile.ts';

const confidence = mostly(fc.constantFrom(0.9, 0.95, 0.99), anyNumber);
const side = fc.constantFrom('two-sided', 'upper', 'lower', 'sideways');
const readings = mostly(everydayNumbers, anyNumbers);
const groups = mostly(
  fc.array(readings, { minLength: 2, maxLength: 6 }),
  fc.oneof(fc.constant([]), fc.array(anyNumbers, { maxLength: 4 })),
);
const positive = mostly(fc.double({ min: 0.01, max: 50, noNaN: true }), anyNumber);
const sample = fc.oneof(
  readings,
  fc.record({
    count: mostly(fc.integer({ min: 2, max: 500 }), anyNumber),
    mean: mostly(everydayNumber, anyNumber),
    standardDeviation: positive,
  }),
);
const options = fc.record({ confidence }, { requiredKeys: [] });

/** Rows and values that belong together, most of the time. */
const regressionData = fc.oneof(
  fc.array(fc.tuple(everydayNumber, everydayNumber), { minLength: 3, maxLength: 20 }).map((pairs) => ({
    predictors: pairs.map(([x]) => x) as (number | number[])[],
    values: pairs.map(([, y]) => y),
  })),
  fc.array(fc.tuple(anyNumber, anyNumber), { maxLength: 8 }).map((pairs) => ({
    predictors: pairs.map(([x]) => x) as (number | number[])[],
    values: pairs.map(([, y]) => y),
  })),
  fc.record({
    predictors: fc.array(
      fc.array(mostly(everydayNumber, anyNumber), { maxLength: 3 }) as fc.Arbitrary<number | number[]>,
      { maxLength: 9 },
    ),
    values: readings,
  }),
);
const fitted = linearRegression([1, 2, 3, 4, 6], [2.1, 3.9, 6.2, 7.8, 12.1]);

const counted = fc
  .tuple(
    mostly(fc.integer({ min: 1, max: 3000 }), anyNumber),
    fc.double({ min: 0, max: 1, noNaN: true }),
    anyCounts,
  )
  .map(([sampleSize, share, other]) => ({
    sampleSize,
    nonconforming: other.length === 1 ? other[0]! : Math.round(sampleSize * share),
  }));

export const fuzzed: FuzzedFunctions = {
  bartlettTest: fc.tuple(groups, options),
  differencesOfMeans: fc.tuple(
    groups,
    fc.record({ confidence, holds: fc.constantFrom('each', 'all', 'none') }, { requiredKeys: [] }),
  ),
  kruskalWallisTest: fc.tuple(groups),
  leveneTest: fc.tuple(groups),
  linearRegression: fc
    .tuple(regressionData, fc.record({ confidence, intercept: fc.boolean() }, { requiredKeys: [] }))
    .map(([{ predictors, values }, chosen]) => [predictors, values, chosen]),
  mannWhitneyTest: fc.tuple(readings, readings),
  meanInterval: fc.tuple(sample, options),
  meanSampleSize: fc.tuple(
    fc.record(
      {
        shift: positive,
        confidence,
        power: confidence,
        sides: fc.constantFrom('one-sided', 'two-sided', 'many'),
      },
      { requiredKeys: ['shift'] },
    ),
  ),
  meanTest: fc.tuple(
    sample,
    fc.record(
      { hypothesizedMean: mostly(everydayNumber, anyNumber), side, confidence },
      { requiredKeys: ['hypothesizedMean'] },
    ),
  ),
  oneWayAnalysisOfVariance: fc.tuple(groups, options),
  regressionPrediction: fc.tuple(fc.constant(fitted), fc.oneof(anyNumber, anyNumbers), options),
  standardDeviationTest: fc.tuple(
    sample,
    fc.record(
      { hypothesizedStandardDeviation: positive, side, confidence },
      { requiredKeys: ['hypothesizedStandardDeviation'] },
    ),
  ),
  twoProportionsComparison: fc.tuple(counted, counted, options),
  twoSampleComparison: fc.tuple(sample, sample, options),
};
