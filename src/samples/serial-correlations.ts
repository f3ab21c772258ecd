import { requireFiniteValues } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { subgroupStatistics } from './subgroup-statistics.ts';

/** Σ(xᵢ − x̄)(xᵢ₊ₖ − x̄) / Σ(xᵢ − x̄)² for k = 1 … lags. */
export function serialCorrelations(
  values: readonly number[],
  lags: number,
): Outcome<{ readonly correlations: readonly number[] }> {
  requireFiniteValues(values, 'values');
  const { mean, standardDeviation } = subgroupStatistics(values);
  if (mean === null || standardDeviation === null || values.length <= lags)
    return {
      available: false,
      reason: 'too-few-values',
      message: `It takes ${lags + 1} values to compare values ${lags === 1 ? 'with their neighbours' : `${lags} apart`}.`,
    };
  if (standardDeviation === 0)
    return { available: false, reason: 'no-variation', message: 'All values are equal.' };
  const deviations = Float64Array.from(values, (value) => value - mean);
  const squares = sumOfProducts(deviations, 0);
  if (squares === 0)
    return {
      available: false,
      reason: 'no-variation',
      message: 'The values differ by less than can be computed with.',
    };
  return {
    available: true,
    correlations: Array.from({ length: lags }, (_, k) => sumOfProducts(deviations, k + 1) / squares),
  };
}

/** Sum of products of values `lag` places apart. */
export function sumOfProducts(deviations: Float64Array, lag: number): number {
  let sum = 0;
  for (let index = lag; index < deviations.length; index++)
    sum += deviations[index]! * deviations[index - lag]!;
  return sum;
}
