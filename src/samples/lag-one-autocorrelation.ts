import { type Outcome, StatisticsError } from '../errors.ts';
import { subgroupStatistics } from './subgroup-statistics.ts';

/**
 * Correlation of each value with the one after it, Σ(xᵢ − x̄)(xᵢ₊₁ − x̄) / Σ(xᵢ − x̄)²: near 0 for values that do not
 * remember, positive for a process that drifts, negative for one that is corrected too often.
 *
 * @param values  two or more finite numbers in time order, one unit.
 * @returns       `correlation`, dimensionless, between −1 and 1; Unavailable `no-variation`, `too-few-values`.
 * @throws        StatisticsError `empty`, `not-finite` (names the value), `out-of-range`.
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.12; certified values of the NIST
 * Statistical Reference Datasets.
 *
 * @example
 * lagOneAutocorrelation([1, 2, 1, 2, 1, 2]);
 * // available, correlation -0.833…
 */
export function lagOneAutocorrelation(values: readonly number[]): Outcome<{ readonly correlation: number }> {
  if (values.length === 0) throw new StatisticsError('empty', 'values', values);
  values.forEach((value, index) => {
    if (!Number.isFinite(value)) throw new StatisticsError('not-finite', `values.${index}`, value);
  });
  const { mean, standardDeviation } = subgroupStatistics(values);
  if (mean === null || standardDeviation === null)
    return {
      available: false,
      reason: 'too-few-values',
      message: 'It takes two values to compare neighbours.',
    };
  if (standardDeviation === 0)
    return { available: false, reason: 'no-variation', message: 'All values are equal.' };
  let products = 0;
  let squares = 0;
  for (let index = 0; index < values.length; index++) {
    const deviation = values[index]! - mean;
    squares += deviation * deviation;
    if (index > 0) products += deviation * (values[index - 1]! - mean);
  }
  return { available: true, correlation: products / squares };
}
