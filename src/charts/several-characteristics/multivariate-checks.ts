/** Checks of what charts of several characteristics are given. */
import { requireFiniteValues, requireSameLength, requireWhole } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';
import type { MultivariateStandard, Observation } from './multivariate-standard.ts';

/** At most so many characteristics: far above any use, and far below what would hang. */
const mostCharacteristics = 100;

/** Finite numbers, one a characteristic. */
export function requireObservation(
  row: Observation,
  argument: string,
  width: number,
  widthArgument: string,
): void {
  requireFiniteValues(row, argument);
  requireSameLength(row.length, width, argument, widthArgument);
}

/** Rows of one width, all numbers finite. */
export function requireObservations(rows: readonly Observation[], argument: string, width?: number): void {
  if (rows.length === 0) throw new StatisticsError('empty', argument, rows);
  const expected = width ?? rows[0]!.length;
  const widthArgument = width === undefined ? `${argument}.0` : 'the mean vector';
  rows.forEach((row, index) => {
    requireObservation(row, `${argument}.${index}`, expected, widthArgument);
  });
  requireWhole(expected, 1, mostCharacteristics, `${argument}.0.length`);
}

/** Subgroups of one size with rows of one width, all numbers finite. */
export function requireSubgroups(
  subgroups: readonly (readonly Observation[])[],
  argument: string,
  width?: number,
): void {
  if (subgroups.length === 0) throw new StatisticsError('empty', argument, subgroups);
  const first = subgroups[0]!;
  if (first.length === 0) throw new StatisticsError('empty', `${argument}.0`, first);
  subgroups.forEach((subgroup, index) => {
    requireSameLength(subgroup.length, first.length, `${argument}.${index}`, `${argument}.0`);
    requireObservations(subgroup, `${argument}.${index}`, width ?? first[0]!.length);
  });
}

/** A mean and a symmetric covariance of the same size. */
export function requireMultivariateStandard(standard: MultivariateStandard, argument: string): void {
  const { mean, covariance, samplesUsed, subgroupSize } = standard;
  requireFiniteValues(mean, `${argument}.mean`);
  requireWhole(mean.length, 1, mostCharacteristics, `${argument}.mean.length`);
  requireSameLength(covariance.length, mean.length, `${argument}.covariance`, `${argument}.mean`);
  covariance.forEach((row, i) => {
    requireFiniteValues(row, `${argument}.covariance.${i}`);
    requireSameLength(row.length, mean.length, `${argument}.covariance.${i}`, `${argument}.mean`);
    if (row[i]! < 0)
      throw new StatisticsError(
        'out-of-range',
        `${argument}.covariance.${i}.${i}`,
        row[i],
        'A variance is never negative.',
      );
  });
  for (let i = 0; i < mean.length; i++)
    for (let j = 0; j < i; j++) {
      const apart = Math.abs(covariance[i]![j]! - covariance[j]![i]!);
      if (apart > 1e-9 * Math.sqrt(covariance[i]![i]!) * Math.sqrt(covariance[j]![j]!))
        throw new StatisticsError(
          'out-of-range',
          `${argument}.covariance.${i}.${j}`,
          covariance[i]![j],
          `It must equal ${argument}.covariance.${j}.${i}: a covariance matrix is symmetric.`,
        );
    }
  if (samplesUsed !== null) requireWhole(samplesUsed, 1, 1e9, `${argument}.samplesUsed`);
  requireWhole(subgroupSize, 1, 1e6, `${argument}.subgroupSize`);
}
