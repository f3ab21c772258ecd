import { requireBetween } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { normalQuantile } from '../numerics/normal.ts';

/** Level and spread that a few outliers cannot move far. All in the unit of the values. */
export interface RobustStatistics {
  readonly size: number;
  readonly median: number;
  /** Median of the n(n + 1)/2 averages of two values (each with itself too). */
  readonly hodgesLehmann: number;
  /** Median of the distances from the median. */
  readonly medianAbsoluteDeviation: number;
  /** Quartiles by linear interpolation between order statistics. */
  readonly lowerQuartile: number;
  readonly upperQuartile: number;
  /** Estimates of the standard deviation of normal values: median absolute deviation/0.6745, interquartile range/1.349. */
  readonly standardDeviationFromMedianAbsoluteDeviation: number;
  readonly standardDeviationFromInterquartileRange: number;
}

/** Upper quartile of the standard normal distribution. */
const normalQuartile = normalQuantile(0.75);
/** Values up to here leave their differences inside the range of a double. */
const largest = 1e300;

/**
 * Robust measures of level and spread, for trial data with outliers: up to half of the values (a quarter for quartiles, 29 %
 * for Hodges-Lehmann) can be wrong without carrying them away.
 *
 * @param values  n ≥ 1 finite numbers in one unit, any order, within ±1e300.
 * @returns       in the unit of the values. Spreads are 0 where half of the values are equal.
 * @throws        StatisticsError `empty`, `not-finite`, `out-of-range` (names the value).
 *
 * Source: Hoaglin, Mosteller and Tukey, Understanding Robust and Exploratory Data Analysis, 1983 (median, MAD); Hodges and
 * Lehmann, Annals of Mathematical Statistics 34(2), 1963; quartiles: Hyndman and Fan, The American Statistician 50(4), 1996,
 * definition 7.
 *
 * @example
 * robustStatistics([10.1, 9.9, 10, 10.2, 35]);
 * // median 10.1, hodgesLehmann 10.1, lowerQuartile 10, upperQuartile 10.2, standardDeviationFromMedianAbsoluteDeviation 0.148…
 */
export function robustStatistics(values: ArrayLike<number>): RobustStatistics {
  if (values.length === 0) throw new StatisticsError('empty', 'values', values);
  for (let index = 0; index < values.length; index++)
    requireBetween(values[index]!, -largest, largest, `values.${index}`);
  const sorted = Float64Array.from(values).sort();
  const median = quantile(sorted, 0.5);
  const distances = sorted.map((value) => Math.abs(value - median)).sort();
  const medianAbsoluteDeviation = quantile(distances, 0.5);
  const lowerQuartile = quantile(sorted, 0.25);
  const upperQuartile = quantile(sorted, 0.75);
  return {
    size: values.length,
    median,
    hodgesLehmann: hodgesLehmann(sorted),
    medianAbsoluteDeviation,
    lowerQuartile,
    upperQuartile,
    standardDeviationFromMedianAbsoluteDeviation: medianAbsoluteDeviation / normalQuartile,
    standardDeviationFromInterquartileRange: (upperQuartile - lowerQuartile) / (2 * normalQuartile),
  };
}

/** Linear interpolation between the order statistics about 1 + (n − 1) · fraction. */
export function quantile(sorted: Float64Array, fraction: number): number {
  const place = (sorted.length - 1) * fraction;
  const below = Math.floor(place);
  const low = sorted[below]!;
  const rest = place - below;
  return rest === 0 ? low : low + rest * (sorted[below + 1]! - low);
}

/** Median of all averages of two, found by halving without listing them: time n log n, exact. */
function hodgesLehmann(sorted: Float64Array): number {
  const pairs = (sorted.length * (sorted.length + 1)) / 2;
  const upper = averageOfRank(sorted, Math.floor(pairs / 2) + 1);
  if (pairs % 2 === 1) return upper;
  const lower = averageOfRank(sorted, pairs / 2);
  return lower / 2 + upper / 2;
}

/** The average of two with the given rank from 1: the smallest number that has at least so many at or below it. */
function averageOfRank(sorted: Float64Array, rank: number): number {
  let low = sorted[0]!;
  let high = sorted[sorted.length - 1]!;
  if (averagesUpTo(sorted, low) >= rank) return low;
  for (;;) {
    const middle = low / 2 + high / 2;
    if (middle <= low || middle >= high) return high;
    if (averagesUpTo(sorted, middle) >= rank) high = middle;
    else low = middle;
  }
}

/** How many averages of two are at or below a number. */
function averagesUpTo(sorted: Float64Array, value: number): number {
  let count = 0;
  let last = sorted.length - 1;
  for (let first = 0; first < sorted.length; first++) {
    while (last >= first && sorted[first]! / 2 + sorted[last]! / 2 > value) last--;
    if (last < first) break;
    count += last - first + 1;
  }
  return count;
}
