import { requireFiniteValues, requireWhole } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { normalUpperTail } from '../numerics/normal.ts';
import { serialCorrelations } from '../samples/serial-correlations.ts';

/** Correlation of values a number of places apart, and what independent values would show. */
export interface LagCorrelation {
  readonly lag: number;
  readonly correlation: number;
  /** Expected correlation of independent values: slightly below 0, because all share one mean. */
  readonly expected: number;
  /** Standard deviation of the correlation of independent normal values. */
  readonly standardError: number;
  /** Two-sided, by normal approximation. */
  readonly pValue: number;
}

export interface Autocorrelations {
  readonly n: number;
  /** For lag 1, 2, … */
  readonly lags: readonly LagCorrelation[];
}

/**
 * Correlation of each value with the one k places later, for k = 1 … lags, each held against what independent values
 * would show.
 *
 * For independent values E rₖ = −(n − k)/(n(n − 1)), which is −1/n at lag 1; the variance is exact for normal values,
 * at lag 1 (n − 2)²/(n²(n − 1)). The p-values treat (rₖ − E rₖ)/standard error as normal, which errs on the side of not
 * calling it proven: of independent normal series 4.5 % come out below 0.05 at n = 10, 4.7 % at n = 20, 5.0 % at n = 100,
 * and below 0.01 only 0.4 %, 0.7 % and 0.96 % (simulated, lag 1).
 * Every lag is a test of its own: among 20 lags, one below 0.05 is no surprise.
 *
 * @param values   n ≥ 4 finite numbers in time order, one unit.
 * @param options  lags, whole, 1 … 1000 and at most n − 2; default 1.
 * @returns        dimensionless correlations between −1 and 1; Unavailable `too-few-values`, `no-variation`.
 * @throws         StatisticsError `empty`, `not-finite` (names the value), `out-of-range`, `not-an-integer`.
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.12; Dufour and Roy, Biometrika 72(3), 1985
 * (mean and variance; lag 1 after Moran, Biometrika 35, 1948).
 *
 * @example
 * autocorrelations([1, 2, 1, 2, 1, 2, 1, 2], { lags: 2 });
 * // available, lags[0].correlation -0.875, lags[0].expected -0.125, lags[1].correlation 0.75
 */
export function autocorrelations(
  values: readonly number[],
  options: { readonly lags?: number } = {},
): Outcome<Autocorrelations> {
  const { lags = 1 } = options;
  requireFiniteValues(values, 'values');
  requireWhole(lags, 1, 1000, 'options.lags');
  const n = values.length;
  if (n < Math.max(4, lags + 2))
    return {
      available: false,
      reason: 'too-few-values',
      message: `${Math.max(4, lags + 2)} values are needed; there are ${n}. Measure more, or ask for fewer lags.`,
    };
  const computed = serialCorrelations(values, lags);
  if (!computed.available) return computed;
  return {
    available: true,
    n,
    lags: computed.correlations.map((correlation, index) => {
      const { expected, standardError } = independentMoments(n, index + 1);
      const z = Math.abs(correlation - expected) / standardError;
      return { lag: index + 1, correlation, expected, standardError, pValue: 2 * normalUpperTail(z) };
    }),
  };
}

/** Mean and standard deviation of the correlation at a lag, of n independent normal values. */
function independentMoments(n: number, lag: number) {
  const k = lag;
  // n⁴ − (k + 3)n³ + 3kn² + 2k(k + 1)n − 4k², over (n + 1)n²(n − 1)².
  const numerator = (((n - (k + 3)) * n + 3 * k) * n + 2 * k * (k + 1)) * n - 4 * k * k;
  return {
    expected: -(n - k) / (n * (n - 1)),
    standardError: Math.sqrt(numerator / (n + 1)) / (n * (n - 1)),
  };
}
