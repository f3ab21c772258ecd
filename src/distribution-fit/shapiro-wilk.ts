import { requireFiniteValues } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { normalQuantile, normalUpperTail } from '../numerics/normal.ts';
import { momentsOf } from './moments-of.ts';
import { normalitySentence } from './normality-sentence.ts';

export interface ShapiroWilk {
  readonly sampleSize: number;
  /** W, 0 to 1: the squared correlation of the ordered values with what normal ones would be. */
  readonly statistic: number;
  /** Chance of a W at most this large if the values are normal. */
  readonly pValue: number;
  readonly message: string;
}

const fewestValues = 3;
const mostValues = 5000;

/**
 * Shapiro-Wilk test: do the ordered values lie on a straight line over what normal values would be? The most sensitive
 * single test of normality for small samples.
 *
 * @param values  3 to 5000 finite numbers in any order, all in one unit.
 * @returns       the test, or Unavailable `too-few-values` (n < 3), `outside-method` (n > 5000), `no-variation`.
 * @throws        StatisticsError `not-finite`, naming the value.
 *
 * Accuracy: W to about 1e-7 of the exact weights' W, p by the published normal approximation, for n = 3 exact; p is 0
 * where W lies below the reach of the approximation.
 *
 * Source: P. Royston, Remark AS R94, Applied Statistics 44(4), 1995.
 *
 * @example
 * shapiroWilk([17.904, 17.294, 18.24, 17.346, 21.024]);
 * // statistic 0.7657…, pValue 0.0413…
 */
export function shapiroWilk(values: readonly number[]): Outcome<ShapiroWilk> {
  requireFiniteValues(values, 'values', 0);
  const n = values.length;
  if (n < fewestValues)
    return {
      available: false,
      reason: 'too-few-values',
      message: `The test of normality needs at least ${fewestValues} values; there are ${n}.`,
    };
  if (n > mostValues)
    return {
      available: false,
      reason: 'outside-method',
      message: `The published test reaches up to ${mostValues} values; there are ${n}. Use the Anderson-Darling test and the probability plot: a sample this large rejects for trifles.`,
    };
  const sorted = Float64Array.from(values).sort();
  if (sorted[0] === sorted[n - 1])
    return {
      available: false,
      reason: 'no-variation',
      message: 'All values are equal, so they have no shape. Check that the gauge resolves the variation.',
    };
  const weights = roystonWeights(n);
  const { mean, rootMeanSquare } = momentsOf(sorted);
  let product = 0;
  for (let index = 0; index < weights.length; index++)
    product +=
      weights[index]! *
      ((sorted[n - 1 - index]! - mean) / rootMeanSquare - (sorted[index]! - mean) / rootMeanSquare);
  const statistic = Math.min(1, (product * product) / n);
  const pValue = roystonPValue(statistic, n);
  return { available: true, sampleSize: n, statistic, pValue, message: normalitySentence(pValue, n) };
}

const polynomial = (coefficients: readonly number[], x: number) =>
  coefficients.reduceRight((sum, coefficient) => sum * x + coefficient, 0);

/** Weights of the largest value less the smallest, the second largest less the second smallest, and so on. */
function roystonWeights(n: number): readonly number[] {
  if (n === 3) return [Math.SQRT1_2];
  const scores = Array.from({ length: n >> 1 }, (_, i) => -normalQuantile((i + 0.625) / (n + 0.25)));
  const squares = 2 * scores.reduce((sum, score) => sum + score * score, 0);
  const step = 1 / Math.sqrt(n);
  const first =
    polynomial([0, 0.221157, -0.147981, -2.07119, 4.434685, -2.706056], step) +
    scores[0]! / Math.sqrt(squares);
  const outer = [first];
  if (n > 5)
    outer.push(
      polynomial([0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633], step) +
        scores[1]! / Math.sqrt(squares),
    );
  const squaresLeft = outer.reduce((sum, _, i) => sum - 2 * scores[i]! ** 2, squares);
  const weightLeft = outer.reduce((sum, weight) => sum - 2 * weight * weight, 1);
  const scale = Math.sqrt(weightLeft / squaresLeft);
  return scores.map((score, i) => outer[i] ?? score * scale);
}

function roystonPValue(w: number, n: number): number {
  if (n === 3) return Math.max(0, (6 / Math.PI) * (Math.asin(Math.sqrt(w)) - Math.PI / 3));
  const log = Math.log(Math.max(1 - w, Number.MIN_VALUE));
  if (n <= 11) {
    const reach = -2.273 + 0.459 * n;
    if (log >= reach) return 0;
    const mean = polynomial([0.544, -0.39978, 0.025054, -0.0006714], n);
    const spread = Math.exp(polynomial([1.3822, -0.77857, 0.062767, -0.0020322], n));
    return normalUpperTail((-Math.log(reach - log) - mean) / spread);
  }
  const x = Math.log(n);
  const mean = polynomial([-1.5861, -0.31082, -0.083751, 0.0038915], x);
  const spread = Math.exp(polynomial([-0.4803, -0.082676, 0.0030302], x));
  return normalUpperTail((log - mean) / spread);
}
