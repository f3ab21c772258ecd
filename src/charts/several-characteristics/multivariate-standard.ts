import { type Outcome, StatisticsError } from '../../errors.ts';
import { requireObservations, requireSubgroups } from './multivariate-checks.ts';

/** The readings of all characteristics of one part, each in its own unit, always in the same order. */
export type Observation = readonly number[];

/** Mean vector and covariance matrix that charts of several characteristics are drawn from. */
export interface MultivariateStandard {
  /** One mean a characteristic. */
  readonly mean: readonly number[];
  /** Symmetric; variance of each characteristic on the diagonal, in its unit squared. */
  readonly covariance: readonly (readonly number[])[];
  /** Observations (or subgroups) that both were estimated from; null: both are known. */
  readonly samplesUsed: number | null;
  /** Observations in a subgroup; 1 for individuals. */
  readonly subgroupSize: number;
  readonly method: 'sample' | 'successive-differences' | 'within-subgroup' | 'given';
}

/**
 * Mean vector and covariance matrix of single observations in time order.
 *
 * 'sample' divides by m − 1. 'successive-differences' is Σvv′/(2(m − 1)) with v the step from one observation to the
 * next: a slow drift or a step of the level inside the baseline hardly widens it.
 *
 * @param observations  m ≥ 2 rows of p finite numbers, 1 ≤ p ≤ 100, one row a part in time order.
 * @param options       which covariance; default 'sample'.
 * @returns             the standard, also where its covariance is singular (the charts say so); Unavailable
 *                      `too-few-values` for one observation.
 * @throws              StatisticsError `empty`, `not-finite` (names the reading), `sizes-differ`, `out-of-range`,
 *                      `unknown-name`.
 *
 * Source: ISO 7870-7; Holmes and Mergen, Quality Engineering 5(4), 1993 (successive differences).
 *
 * @example
 * multivariateStandard([[4, 2], [4.2, 2.1], [3.9, 2]], {});
 * // available, mean [4.033…, 2.033…], samplesUsed 3
 */
export function multivariateStandard(
  observations: readonly Observation[],
  options: { readonly covariance?: 'sample' | 'successive-differences' } = {},
): Outcome<MultivariateStandard> {
  const { covariance: method = 'sample' } = options;
  if (method !== 'sample' && method !== 'successive-differences')
    throw new StatisticsError('unknown-name', 'options.covariance', method);
  requireObservations(observations, 'observations');
  const count = observations.length;
  if (count < 2)
    return {
      available: false,
      reason: 'too-few-values',
      message: 'A covariance needs at least two observations. Measure more parts.',
    };
  const mean = meanVector(observations);
  const covariance =
    method === 'sample'
      ? sumOfProducts(observations, mean, 1 / (count - 1))
      : sumOfProducts(
          observations.slice(1).map((row, index) => row.map((x, j) => x - observations[index]![j]!)),
          mean.map(() => 0),
          1 / (2 * (count - 1)),
        );
  requireRepresentable(mean, covariance, 'observations');
  return { available: true, mean, covariance, samplesUsed: count, subgroupSize: 1, method };
}

/**
 * Mean vector and within-subgroup covariance matrix of subgroups: the mean of the subgroup means, and the mean of
 * the sample covariances inside the subgroups.
 *
 * @param subgroups  m ≥ 1 subgroups of the same size n ≥ 2, each n rows of p finite numbers, 1 ≤ p ≤ 100.
 * @returns          the standard; Unavailable `too-few-values` where the subgroups hold one observation.
 * @throws           StatisticsError `empty`, `not-finite` (names the reading), `sizes-differ`, `out-of-range`.
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, section 11.3 (eq. 11.14 to 11.17).
 *
 * @example
 * multivariateStandardOfSubgroups([[[4, 2], [4.2, 2.1]], [[3.9, 2], [4.1, 2.2]]]);
 * // available, mean [4.05…, 2.075…], subgroupSize 2, method "within-subgroup"
 */
export function multivariateStandardOfSubgroups(
  subgroups: readonly (readonly Observation[])[],
): Outcome<MultivariateStandard> {
  requireSubgroups(subgroups, 'subgroups');
  const size = subgroups[0]!.length;
  const count = subgroups.length;
  if (size < 2)
    return {
      available: false,
      reason: 'too-few-values',
      message: 'Subgroups of one observation have no covariance inside them. Use the chart of individuals.',
    };
  const means = subgroups.map(meanVector);
  const mean = meanVector(means);
  const covariance = mean.map(() => mean.map(() => 0));
  subgroups.forEach((subgroup, index) => {
    sumOfProducts(subgroup, means[index]!, 1 / ((size - 1) * count)).forEach((row, i) => {
      row.forEach((share, j) => {
        covariance[i]![j]! += share;
      });
    });
  });
  requireRepresentable(mean, covariance, 'subgroups');
  return {
    available: true,
    mean,
    covariance,
    samplesUsed: count,
    subgroupSize: size,
    method: 'within-subgroup',
  };
}

/** Means as distances from the first row, so that no digits are lost. */
export function meanVector(rows: readonly Observation[]): number[] {
  const origin = rows[0]!;
  return origin.map((first, j) => {
    let distances = 0;
    for (const row of rows) distances += row[j]! - first;
    return first + distances / rows.length;
  });
}

/** `factor` times the sum of products of the deviations from `center`. */
function sumOfProducts(rows: readonly Observation[], center: Observation, factor: number): number[][] {
  return center.map((ci, i) =>
    center.map((cj, j) => {
      let sum = 0;
      // The smaller place first, so that the matrix is symmetric to the last digit.
      for (const row of rows)
        sum += i <= j ? (row[i]! - ci) * (row[j]! - cj) : (row[j]! - cj) * (row[i]! - ci);
      return sum * factor;
    }),
  );
}

function requireRepresentable(
  mean: Observation,
  covariance: readonly (readonly number[])[],
  argument: string,
): void {
  if ([mean, ...covariance].every((row) => row.every(Number.isFinite))) return;
  throw new StatisticsError(
    'out-of-range',
    argument,
    null,
    'The readings lie too far apart to compute with.',
  );
}
