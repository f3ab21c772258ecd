import { requireFiniteValues } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { distancesFromFirst, momentsOf } from './moments-of.ts';
import { normalitySentence } from './normality-sentence.ts';

export interface SkewnessAndKurtosis {
  readonly sampleSize: number;
  /** G1, corrected for bias: above 0 the upper tail is the longer one. Dimensionless. */
  readonly skewness: number;
  /** G2, corrected for bias: above 0 the tails are heavier than normal ones. null for 3 values. Dimensionless. */
  readonly excessKurtosis: number | null;
  /** K² of both together. */
  readonly omnibus: Outcome<OmnibusTest>;
  readonly message: string;
}

export interface OmnibusTest {
  /** Skewness and kurtosis as standard normal scores, if the values are normal. */
  readonly skewnessScore: number;
  readonly kurtosisScore: number;
  /** K², the sum of their squares. */
  readonly statistic: number;
  /** Chance of a K² at least this large if the values are normal. */
  readonly pValue: number;
}

const fewestValues = 3;
const fewestForTest = 20;

/**
 * Skewness and kurtosis of a sample, and D'Agostino's test whether they are those of normal values. Says in which way
 * values are not normal: lopsided, or with heavy or light tails.
 *
 * @param values  n ≥ 3 finite numbers in any order, all in one unit.
 * @returns       skewness and kurtosis; the test inside is Unavailable `too-few-values` below n = 20, where the
 *                approximation of the kurtosis does not hold. Unavailable `too-few-values` (n < 3), `no-variation`.
 * @throws        StatisticsError `not-finite`, naming the value.
 *
 * Source: R. B. D'Agostino, Biometrika 57(3), 1970 (skewness); F. J. Anscombe and W. J. Glynn, Biometrika 70(1), 1983
 * (kurtosis); D'Agostino and E. S. Pearson, Biometrika 60(3), 1973 (K²).
 *
 * @example
 * skewnessAndKurtosis([17.904, 17.294, 18.24, 17.346, 21.024]);
 * // skewness 1.8843…, excessKurtosis 3.7080…, omnibus.available false
 */
export function skewnessAndKurtosis(values: readonly number[]): Outcome<SkewnessAndKurtosis> {
  requireFiniteValues(values, 'values', 0);
  const n = values.length;
  if (n < fewestValues)
    return {
      available: false,
      reason: 'too-few-values',
      message: `Skewness needs at least ${fewestValues} values; there are ${n}.`,
    };
  if (values.every((value) => value === values[0]))
    return {
      available: false,
      reason: 'no-variation',
      message: 'All values are equal, so they have no shape. Check that the gauge resolves the variation.',
    };
  const distances = distancesFromFirst(values);
  const { mean, rootMeanSquare } = momentsOf(distances);
  let cubes = 0;
  let fourths = 0;
  for (const distance of distances) {
    const z = (distance - mean) / rootMeanSquare;
    cubes += z ** 3;
    fourths += z ** 4;
  }
  const third = cubes / n;
  const fourth = fourths / n;
  const omnibus = omnibusTest(third, fourth, n);
  return {
    available: true,
    sampleSize: n,
    skewness: (third * Math.sqrt(n * (n - 1))) / (n - 2),
    excessKurtosis: n === 3 ? null : ((n - 1) / ((n - 2) * (n - 3))) * ((n + 1) * (fourth - 3) + 6),
    omnibus,
    message: omnibus.available ? normalitySentence(omnibus.pValue, n) : omnibus.message,
  };
}

/** `skewness` and `kurtosis` are the plain moment ratios, with divisor n; the kurtosis of normal values is about 3. */
function omnibusTest(skewness: number, kurtosis: number, n: number): Outcome<OmnibusTest> {
  if (n < fewestForTest)
    return {
      available: false,
      reason: 'too-few-values',
      message: `The test of skewness and kurtosis needs at least ${fewestForTest} values; there are ${n}. With so few only gross departures could show anyway.`,
    };
  const skewnessScore = scoreOfSkewness(skewness, n);
  const kurtosisScore = scoreOfKurtosis(kurtosis, n);
  const statistic = skewnessScore ** 2 + kurtosisScore ** 2;
  // Chi-square with 2 degrees of freedom.
  return { available: true, skewnessScore, kurtosisScore, statistic, pValue: Math.exp(-statistic / 2) };
}

function scoreOfSkewness(skewness: number, n: number): number {
  const y = skewness * Math.sqrt(((n + 1) * (n + 3)) / (6 * (n - 2)));
  const fourth = (3 * (n * n + 27 * n - 70) * (n + 1) * (n + 3)) / ((n - 2) * (n + 5) * (n + 7) * (n + 9));
  const square = Math.sqrt(2 * (fourth - 1)) - 1;
  return Math.asinh(y / Math.sqrt(2 / (square - 1))) / Math.sqrt(Math.log(square) / 2);
}

function scoreOfKurtosis(kurtosis: number, n: number): number {
  const expected = (3 * (n - 1)) / (n + 1);
  const variance = (24 * n * (n - 2) * (n - 3)) / ((n + 1) ** 2 * (n + 3) * (n + 5));
  const x = (kurtosis - expected) / Math.sqrt(variance);
  const skew =
    ((6 * (n * n - 5 * n + 2)) / ((n + 7) * (n + 9))) *
    Math.sqrt((6 * (n + 3) * (n + 5)) / (n * (n - 2) * (n - 3)));
  const a = 6 + (8 / skew) * (2 / skew + Math.sqrt(1 + 4 / (skew * skew)));
  const cube = (1 - 2 / a) / (1 + x * Math.sqrt(2 / (a - 4)));
  return (1 - 2 / (9 * a) - Math.cbrt(cube)) / Math.sqrt(2 / (9 * a));
}
