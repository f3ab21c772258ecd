import type { Outcome } from '../errors.ts';
import { serialCorrelations } from './serial-correlations.ts';

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
  const computed = serialCorrelations(values, 1);
  return computed.available ? { available: true, correlation: computed.correlations[0]! } : computed;
}
