import fc from 'fast-check';
import { anyNumber, anyNumbers, everydayNumbers, type FuzzedFunctions, mostly } from './hostile.ts';

const readings = mostly(everydayNumbers, anyNumbers);
const confidence = mostly(fc.constantFrom(0.5, 0.9, 0.95, 0.999), anyNumber);
const coverage = mostly(fc.constantFrom(0.01, 0.9, 0.95, 0.9973, 1 - 1e-9), anyNumber);
const count = mostly(fc.oneof(fc.integer({ min: 1, max: 60 }), fc.constantFrom(1e3, 1e6, 1e9)), anyNumber);
/** Large numbers of future readings cost milliseconds each. */
const futureCount = mostly(fc.integer({ min: 1, max: 30 }), anyNumber);
const side = fc.constantFrom('two-sided', 'upper', 'lower', 'sideways');
const sides = fc.constantFrom('one-sided', 'two-sided', 'many');
const degreesOfFreedom = mostly(fc.constantFrom(0.5, 1, 7, 60, 1e4, 1e9), anyNumber);
const rank = mostly(fc.integer({ min: 0, max: 3 }), anyNumber);

export const fuzzed: FuzzedFunctions = {
  boxPlotFences: fc.tuple(readings),
  distributionFreeTolerance: fc.tuple(
    fc.record(
      { sampleSize: count, lowerRank: rank, upperRankFromTop: rank, coverage, confidence },
      { requiredKeys: ['sampleSize', 'coverage'] },
    ),
  ),
  distributionFreeToleranceInterval: fc.tuple(
    readings,
    fc.record({ coverage, confidence, side }, { requiredKeys: ['coverage'] }),
  ),
  dixonTest: fc.tuple(readings, fc.record({ side, confidence }, { requiredKeys: [] })),
  generalizedDeviateTest: fc.tuple(
    readings,
    fc.record(
      { most: mostly(fc.integer({ min: 1, max: 5 }), anyNumber), confidence },
      { requiredKeys: ['most'] },
    ),
  ),
  grubbsTest: fc.tuple(readings, fc.record({ side, confidence }, { requiredKeys: [] })),
  normalToleranceFactor: fc.tuple(
    fc.record(
      {
        sampleSize: count,
        coverage,
        confidence,
        sides,
        method: fc.constantFrom('exact', 'Howe', 'guess'),
        degreesOfFreedom: fc.oneof(degreesOfFreedom, fc.constant('known')),
      },
      { requiredKeys: ['sampleSize', 'coverage'] },
    ),
  ),
  predictionFactor: fc.tuple(
    fc.record(
      {
        sampleSize: count,
        futureCount,
        confidence,
        sides,
        method: fc.constantFrom('exact', 'bonferroni', 'mean', 'guess'),
        degreesOfFreedom,
      },
      { requiredKeys: ['sampleSize'] },
    ),
  ),
  predictionInterval: fc.tuple(
    readings,
    fc.record(
      { futureCount, confidence, side, method: fc.constantFrom('exact', 'bonferroni', 'mean') },
      { requiredKeys: [] },
    ),
  ),
  toleranceInterval: fc.tuple(
    readings,
    fc.record(
      {
        coverage,
        confidence,
        side,
        method: fc.constantFrom('exact', 'Howe'),
        knownStandardDeviation: anyNumber,
      },
      { requiredKeys: ['coverage'] },
    ),
  ),
  toleranceSampleSize: fc.tuple(
    fc.record(
      { coverage, confidence, ranks: mostly(fc.integer({ min: 1, max: 9 }), anyNumber) },
      { requiredKeys: ['coverage'] },
    ),
  ),
};
