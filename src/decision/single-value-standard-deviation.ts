import type { ProcessStandard } from '../charts/control-chart.ts';
import { requireBetween } from '../checks.ts';
import { StatisticsError } from '../errors.ts';

/**
 * Standard deviation of single values about the process mean: the within-subgroup one, and on top of it what the
 * subgroup means move by themselves where the standard says so. This is what questionValue expects.
 *
 * A standard deviation of means that was taken from their moving range sees only the steps from one sample to the
 * next; where a level stays for many samples (a coil lasts twelve), it understates how far values can lie from the
 * mean. Give questionValue a larger one there, such as a quarter of the half tolerance.
 *
 * @param standard    the standard that the control limits are drawn from.
 * @param sampleSize  readings of a subgroup, n ≥ 1.
 * @returns           in the unit of the standard.
 * @throws            StatisticsError `out-of-range` for a sample size below 1 or a spread below 0, `not-finite`.
 *
 * Source: variance components of a one-way random model: σ²(mean) = σ²(between) + σ²(within)/n.
 *
 * @example
 * singleValueStandardDeviation({ mean: 2.3, withinSubgroupStandardDeviation: 0.01, meanStandardDeviation: 0.021 }, 3);
 * // 0.0225…
 */
export function singleValueStandardDeviation(standard: ProcessStandard, sampleSize: number): number {
  if (!(sampleSize >= 1 && sampleSize < Infinity))
    throw new StatisticsError('out-of-range', 'sampleSize', sampleSize, 'A sample has at least one reading.');
  const { withinSubgroupStandardDeviation: within, meanStandardDeviation: means } = standard;
  requireSpread(within, 'standard.withinSubgroupStandardDeviation');
  if (means === null) return within;
  requireSpread(means, 'standard.meanStandardDeviation');
  const ofMeanWithin = within / Math.sqrt(sampleSize);
  if (means <= ofMeanWithin) return within;
  const between = Math.sqrt((means - ofMeanWithin) * (means + ofMeanWithin));
  return Math.hypot(within, between);
}

const requireSpread = (spread: number, argument: string) => requireBetween(spread, 0, 1e150, argument);
