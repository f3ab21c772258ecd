/** How the cases of tolerance-intervals.json and tolerance-intervals-published.json are worked out. */

import type { Outcome } from '../../src/errors.ts';
import {
  distributionFreeTolerance,
  type NormalToleranceFactorOptions,
  normalToleranceFactor,
  type PredictionFactorOptions,
  predictionFactor,
  toleranceInterval,
  toleranceSampleSize,
} from '../../src/index.ts';
import { chiSquareQuantile } from '../../src/numerics/chi-square.ts';
import { noncentralTQuantile } from '../../src/numerics/noncentral-t.ts';
import { normalQuantile } from '../../src/numerics/normal.ts';
import type { CaseHandlers } from './run-cases.ts';

function known<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(outcome.message);
  return outcome;
}

const tolerance = (options: NormalToleranceFactorOptions) => known(normalToleranceFactor(options)).factor;
const prediction = (options: PredictionFactorOptions) => known(predictionFactor(options)).factor;

/** Keyed by inputs.kind. */
export const toleranceIntervalsHandlers: CaseHandlers = {
  oneSided: ({ n, coverage, confidence }) => ({
    k: tolerance({ sampleSize: n, coverage, confidence, sides: 'one-sided' }),
  }),
  twoSided: ({ n, coverage, confidence }) => ({
    kExact: tolerance({ sampleSize: n, coverage, confidence }),
    kHowe: tolerance({ sampleSize: n, coverage, confidence, method: 'Howe' }),
  }),
  pooledDegreesOfFreedom: ({ n: sampleSize, degreesOfFreedom, coverage, confidence }) => ({
    kOneSided: tolerance({ sampleSize, degreesOfFreedom, coverage, confidence, sides: 'one-sided' }),
    kTwoSidedExact: tolerance({ sampleSize, degreesOfFreedom, coverage, confidence }),
    kTwoSidedHowe: tolerance({ sampleSize, degreesOfFreedom, coverage, confidence, method: 'Howe' }),
  }),
  sigmaKnown: ({ n: sampleSize, coverage, confidence }) => ({
    kOneSided: tolerance({
      sampleSize,
      coverage,
      confidence,
      sides: 'one-sided',
      degreesOfFreedom: 'known',
    }),
    kTwoSided: tolerance({ sampleSize, coverage, confidence, degreesOfFreedom: 'known' }),
  }),
  nonparametric: ({ n: sampleSize, ...ranks }) => distributionFreeTolerance({ sampleSize, ...ranks }),
  minimumSampleSize: ({ coverage, confidence }) => ({
    oneSided: known(toleranceSampleSize({ coverage, confidence, ranks: 1 })).sampleSize,
    twoSided: known(toleranceSampleSize({ coverage, confidence })).sampleSize,
  }),
  prediction: ({ n, m, confidence, twoSided }) => {
    const options = {
      sampleSize: n,
      futureCount: m,
      confidence,
      sides: twoSided ? 'two-sided' : 'one-sided',
    } as const;
    return {
      exactSimultaneous: prediction(options),
      bonferroni: prediction({ ...options, method: 'bonferroni' }),
      meanOfM: prediction({ ...options, method: 'mean' }),
    };
  },
  data: ({ values, twoSidedCoverage, oneSidedCoverage, confidence }) => {
    const both = known(toleranceInterval(values, { coverage: twoSidedCoverage, confidence }));
    const one = (side: 'upper' | 'lower') =>
      known(toleranceInterval(values, { coverage: oneSidedCoverage, confidence, side }))[side];
    return {
      twoSided: [both.lower, both.upper],
      upperOneSided: one('upper'),
      lowerOneSided: one('lower'),
    };
  },
};

interface Table {
  readonly confidence: number;
  readonly coverages: readonly number[];
  readonly sampleSizes: readonly number[];
}

const table = ({ confidence, coverages, sampleSizes }: Table, sides: 'one-sided' | 'two-sided') =>
  Object.fromEntries(
    sampleSizes.map((sampleSize) => [
      sampleSize,
      coverages.map((coverage) => tolerance({ sampleSize, coverage, confidence, sides })),
    ]),
  );

/** Keyed by id. */
export const publishedToleranceIntervalsHandlers: CaseHandlers = {
  'two-sided-howe-n43': ({ sampleSize, coverage, confidence }) => {
    const howe = tolerance({ sampleSize, coverage, confidence, method: 'Howe' });
    return {
      // A printed intermediate figure, to two decimals.
      chiSquareLower: Math.round(chiSquareQuantile(1 - confidence, sampleSize - 1) * 100) / 100,
      k2: howe,
      k2FullPrecision: howe,
      exactK2: tolerance({ sampleSize, coverage, confidence }),
    };
  },
  'one-sided-natrella-and-noncentral-t-n43': ({ sampleSize, coverage, confidence }) => {
    const noncentrality = normalQuantile(coverage) * Math.sqrt(sampleSize);
    // The printed approximation, which is not offered because the exact factor is: it checks the quantiles.
    const [p, c] = [normalQuantile(coverage), normalQuantile(confidence)];
    const natrellaA = 1 - c ** 2 / (2 * (sampleSize - 1));
    const natrellaB = p ** 2 - c ** 2 / sampleSize;
    return {
      natrellaA,
      natrellaB,
      natrellaK1: (p + Math.sqrt(p ** 2 - natrellaA * natrellaB)) / natrellaA,
      noncentrality,
      tQuantile: noncentralTQuantile(confidence, sampleSize - 1, noncentrality),
      noncentralTK1: tolerance({ sampleSize, coverage, confidence, sides: 'one-sided' }),
    };
  },
  'one-sided-factor-table-confidence-0.95': (inputs) => ({ k: table(inputs, 'one-sided') }),
  'two-sided-exact-factor-table-confidence-0.95-a': (inputs) => ({
    printedTwoDecimals: table(inputs, 'two-sided'),
    exact: table(inputs, 'two-sided'),
  }),
};
