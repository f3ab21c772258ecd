import { requireBetween, requireFiniteValues } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { andersonDarlingStatistic } from './anderson-darling-statistic.ts';
import { normalFamily } from './fit-normal.ts';
import { distancesFromFirst, momentsOf } from './moments-of.ts';
import { normalitySentence } from './normality-sentence.ts';

export interface AndersonDarling {
  readonly sampleSize: number;
  /** In the unit of the values. */
  readonly mean: number;
  /** Divisor n − 1. */
  readonly standardDeviation: number;
  /** A², dimensionless. */
  readonly statistic: number;
  /** A²(1 + 0.75/n + 2.25/n²): corrects for the estimated mean and standard deviation. */
  readonly adjustedStatistic: number;
  /** Chance of an adjusted statistic at least this large if the values are normal. */
  readonly pValue: number;
  readonly message: string;
}

/** Adjusted statistics that normal values exceed with the probability in the key. D'Agostino and Stephens 1986, table 4.7. */
export const andersonDarlingCriticalValues = {
  '0.10': 0.631,
  '0.05': 0.752,
  '0.025': 0.873,
  '0.01': 1.035,
} as const;

const fewestValues = 5;

/**
 * Anderson-Darling test: could these values come from a normal distribution whose mean and standard deviation are
 * not known beforehand? It weighs the tails, which is where parts become nonconforming. Tail areas are taken as
 * logarithms, so a value 30 standard deviations out still counts as what it is.
 *
 * Coarse rounding alone makes large samples fail: look at the gauge step before the process.
 *
 * @param values  n ≥ 5 finite numbers in any order, all in one unit.
 * @returns       the test, or Unavailable `too-few-values` (n < 5), `no-variation`.
 * @throws        StatisticsError `not-finite`, naming the value.
 *
 * Source: D'Agostino and Stephens (eds.), Goodness-of-Fit Techniques, 1986, tables 4.7 and 4.9;
 * NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.14.
 *
 * @example
 * andersonDarling([17.904, 17.294, 18.24, 17.346, 21.024]);
 * // adjustedStatistic 0.7594…, pValue 0.0482…
 */
export function andersonDarling(values: readonly number[]): Outcome<AndersonDarling> {
  requireFiniteValues(values, 'values', 0);
  const n = values.length;
  if (n < fewestValues)
    return {
      available: false,
      reason: 'too-few-values',
      message: `The test of normality needs at least ${fewestValues} values; there are ${n}.`,
    };
  const sorted = Float64Array.from(values).sort();
  if (sorted[0] === sorted[n - 1])
    return {
      available: false,
      reason: 'no-variation',
      message: 'All values are equal, so they have no shape. Check that the gauge resolves the variation.',
    };
  const { mean, standardDeviation } = momentsOf(sorted);
  const distances = distancesFromFirst(sorted);
  const moments = momentsOf(distances);
  const statistic = andersonDarlingStatistic(
    distances,
    normalFamily.functions({ mu: moments.mean, sigma: moments.standardDeviation }),
  );
  const adjustedStatistic = statistic * (1 + 0.75 / n + 2.25 / n ** 2);
  const pValue = andersonDarlingPValue(adjustedStatistic);
  return {
    available: true,
    sampleSize: n,
    mean,
    standardDeviation,
    statistic,
    adjustedStatistic,
    pValue,
    message: normalitySentence(pValue, n),
  };
}

/**
 * Chance that normal values give an adjusted statistic of at least `a`. Piecewise approximation; 0 above 13, where
 * it ends.
 *
 * @param a  adjusted statistic of Anderson and Darling, 0 or more, dimensionless.
 * @returns  0 to 1; good to about 0.005 (cited from memory).
 * @throws   StatisticsError `not-finite`, `out-of-range`.
 *
 * Source: D'Agostino and Stephens 1986, table 4.9.
 *
 * @example
 * andersonDarlingPValue(0.752);
 * // 0.0503…
 */
export function andersonDarlingPValue(a: number): number {
  requireBetween(a, 0, Number.MAX_VALUE, 'a');
  if (a <= 0.2) return 1 - Math.exp(-13.436 + 101.14 * a - 223.73 * a * a);
  if (a <= 0.34) return 1 - Math.exp(-8.318 + 42.796 * a - 59.938 * a * a);
  if (a < 0.6) return Math.exp(0.9177 - 4.279 * a - 1.38 * a * a);
  if (a <= 13) return Math.exp(1.2937 - 5.709 * a + 0.0186 * a * a);
  return 0;
}
