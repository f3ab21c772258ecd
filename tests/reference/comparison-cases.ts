/** How the cases of comparison.json are worked out. */
import type { Outcome } from '../../src/errors.ts';
import {
  bartlettTest,
  type DifferenceTest,
  kruskalWallisTest,
  leveneTest,
  mannWhitneyTest,
  oneWayAnalysisOfVariance,
  twoProportionsComparison,
  twoSampleComparison,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

function known<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(outcome.message);
  return outcome;
}

const difference = ({ statistic, degreesOfFreedom, pValue, lower, upper }: DifferenceTest) => ({
  t: statistic,
  df: degreesOfFreedom,
  pValue,
  interval: [lower, upper],
});

/** Keyed by inputs.kind. */
export const comparisonHandlers: CaseHandlers = {
  twoSample: ({ first, second, confidence }) => {
    const result = known(twoSampleComparison(first, second, { confidence }));
    const { ratio, degreesOfFreedom, pValue, lower, upper } = result.varianceRatio!;
    return {
      difference: result.difference,
      welch: difference(result.welch),
      pooled: {
        ...difference(result.pooled),
        pooledStandardDeviation: result.pooled.pooledStandardDeviation,
      },
      varianceRatio: { F: ratio, df: degreesOfFreedom, pValue, interval: [lower, upper] },
    };
  },
  mannWhitney: ({ first, second }) => {
    const result = known(mannWhitneyTest(first, second));
    return {
      U: result.statistic,
      z: result.standardizedStatistic,
      pValueAsymptotic: result.asymptoticPValue,
      tied: result.hasTies,
      pValueExact: result.exactPValue,
    };
  },
  several: ({ groups }) => {
    const analysis = known(oneWayAnalysisOfVariance(groups));
    const levene = known(leveneTest(groups));
    const bartlett = known(bartlettTest(groups));
    const ranks = known(kruskalWallisTest(groups));
    return {
      anova: {
        ssBetween: analysis.between.sumOfSquares,
        ssWithin: analysis.within.sumOfSquares,
        df: [analysis.between.degreesOfFreedom, analysis.within.degreesOfFreedom],
        F: analysis.fRatio,
        pValue: analysis.pValue,
      },
      leveneMedian: { F: levene.fRatio, df: levene.degreesOfFreedom, pValue: levene.pValue },
      bartlett: {
        chiSquare: bartlett.statistic,
        df: bartlett.degreesOfFreedom,
        pValue: bartlett.pValue,
      },
      kruskalWallis: { H: ranks.statistic, df: ranks.degreesOfFreedom, pValue: ranks.pValue },
    };
  },
  twoProportions: ({ nonconforming, sampleSizes, confidence }) => {
    const sample = (k: number) => ({ nonconforming: nonconforming[k], sampleSize: sampleSizes[k] });
    const result = twoProportionsComparison(sample(0), sample(1), { confidence });
    return {
      difference: result.difference,
      fisherP: result.fisherPValue,
      oddsRatio: result.oddsRatio,
      wald: result.simpleInterval,
      newcombe: [result.lower, result.upper],
      pooledZ: result.pooledStatistic,
      pooledZP: result.pooledPValue,
    };
  },
};
