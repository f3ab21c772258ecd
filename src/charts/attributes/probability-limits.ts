import { requireBetween, requireWhole } from '../../checks.ts';
import { binomialLowerTail, binomialUpperTail } from '../../numerics/binomial.ts';
import { poissonLowerTail, poissonUpperTail } from '../../numerics/poisson.ts';

/** Probability of a point beyond its limit although nothing has changed. */
export interface TailProbabilities {
  readonly lower: number;
  readonly upper: number;
}

/** Limits of a count that keep a wanted probability of a false alarm on each side. */
export interface ProbabilityLimits {
  /** Expected count; the median for counts of parts between events. */
  readonly centerLine: number;
  /** A count below this is a signal; null where no count can be. */
  readonly lowerControlLimit: number | null;
  /** A count above this is a signal; null where no count can be. */
  readonly upperControlLimit: number | null;
  /** What a false alarm really costs on each side: counts are whole, so it is mostly less than what was allowed. */
  readonly falseAlarmProbability: TailProbabilities;
}

/** Beyond this the limits of a geometric count are no longer exact whole numbers. */
export const largestMeanBetween = 1e12;
const smallestProbability = 1e-12;
/** Beyond this the tails of a count take noticeable time to sum, and the plain limits are as good. */
export const largestSizeOrMean = 1e8;

export function requireFalseAlarmProbability(probability: number, argument: string): void {
  requireBetween(probability, smallestProbability, 0.5, argument);
}

/**
 * Exact-probability limits for the number of nonconforming parts in a sample.
 *
 * Upper: the smallest count U with P(X > U) at most the allowed probability; lower: the largest count L with
 * P(X < L) at most that. Use them where nonconforming parts are rare: three standard deviations then give far more
 * or far fewer false alarms than the usual 0.135 % on a side.
 *
 * @param options  size: parts inspected, whole, 1 … 1e8; proportion nonconforming, 0 … 1; falseAlarmProbability on
 *                 each side, 1e-12 … 0.5, default 0.00135.
 * @returns        limits in parts, strict (a count on a limit is inside), with the actual probabilities; relative
 *                 accuracy as binomialUpperTail.
 * @throws         StatisticsError `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 7870-2, attributes charts (binomial); exact limits by definition of the quantile.
 *
 * @example
 * binomialProbabilityLimits({ size: 310, proportion: 0.003 });
 * // upperControlLimit 5, lowerControlLimit null, falseAlarmProbability.upper 0.000393…
 */
export function binomialProbabilityLimits(options: {
  readonly size: number;
  readonly proportion: number;
  readonly falseAlarmProbability?: number;
}): ProbabilityLimits {
  const { size, proportion, falseAlarmProbability = 0.00135 } = options;
  requireWhole(size, 1, largestSizeOrMean, 'options.size');
  requireBetween(proportion, 0, 1, 'options.proportion');
  requireFalseAlarmProbability(falseAlarmProbability, 'options.falseAlarmProbability');
  if (proportion === 0 || proportion === 1) return certainCount(proportion * size, size);
  return countLimits(
    size * proportion,
    size,
    falseAlarmProbability,
    (count) => binomialLowerTail(count, size, proportion),
    (count) => binomialUpperTail(count, size, proportion),
  );
}

/**
 * Exact-probability limits for a number of nonconformities, by the same rule as binomialProbabilityLimits.
 *
 * @param options  mean: expected nonconformities in the sample, 0 … 1e8; falseAlarmProbability on each side,
 *                 1e-12 … 0.5, default 0.00135.
 * @returns        limits in nonconformities, strict, with the actual probabilities on each side.
 * @throws         StatisticsError `not-finite`, `out-of-range`.
 *
 * Source: ISO 7870-2, attributes charts (Poisson); exact limits by definition of the quantile.
 *
 * @example
 * poissonProbabilityLimits({ mean: 2 });
 * // upperControlLimit 7, lowerControlLimit null, falseAlarmProbability.upper 0.00109…
 */
export function poissonProbabilityLimits(options: {
  readonly mean: number;
  readonly falseAlarmProbability?: number;
}): ProbabilityLimits {
  const { mean, falseAlarmProbability = 0.00135 } = options;
  requireBetween(mean, 0, largestSizeOrMean, 'options.mean');
  requireFalseAlarmProbability(falseAlarmProbability, 'options.falseAlarmProbability');
  if (mean === 0) return certainCount(0, Infinity);
  // Eight standard deviations and a constant for the skewness of small means: beyond the smallest probability.
  const most = Math.ceil(mean + 10 * Math.sqrt(mean) + 40);
  return countLimits(
    mean,
    most,
    falseAlarmProbability,
    (count) => poissonLowerTail(count, mean),
    (count) => poissonUpperTail(count, mean),
  );
}

/**
 * Exact-probability limits for the number of good parts between two events, a geometric count from 0.
 *
 * The center line is the median, so that half of the points lie on each side of it, as run rules expect.
 *
 * @param options  mean: mean number of good parts between events, 0 … 1e12; falseAlarmProbability on each side,
 *                 1e-12 … 0.5, default 0.00135.
 * @returns        limits in parts, strict, with the actual probabilities on each side: P(X > U) = (m/(m + 1))^(U + 1).
 * @throws         StatisticsError `not-finite`, `out-of-range`.
 *
 * Source: Benneyan, Number-between g-type statistical quality control charts, Health Care Management Science 4, 2001
 * (cited from memory); exact limits by definition of the quantile.
 *
 * @example
 * geometricProbabilityLimits({ mean: 999 });
 * // upperControlLimit 6604, lowerControlLimit 1, falseAlarmProbability.lower 0.001, centerLine 692
 */
export function geometricProbabilityLimits(options: {
  readonly mean: number;
  readonly falseAlarmProbability?: number;
}): ProbabilityLimits {
  const { mean, falseAlarmProbability = 0.00135 } = options;
  requireBetween(mean, 0, largestMeanBetween, 'options.mean');
  requireFalseAlarmProbability(falseAlarmProbability, 'options.falseAlarmProbability');
  if (mean === 0) return certainCount(0, Infinity);
  // ln(m/(m + 1)), from the side that keeps its digits.
  const logNoEvent = mean < 1 ? Math.log(mean) - Math.log1p(mean) : -Math.log1p(1 / mean);
  const beyond = (count: number) => Math.exp((count + 1) * logNoEvent);
  const below = (count: number) => -Math.expm1(count * logNoEvent);
  // Far enough for the smallest probability: 28 means and more.
  const most = Math.ceil(30 * (mean + 1));
  const lower = smallestWhole(0, most, (count) => below(count + 1) > falseAlarmProbability);
  const upper = smallestWhole(0, most, (count) => beyond(count) <= falseAlarmProbability);
  return {
    centerLine: smallestWhole(0, most, (count) => beyond(count) <= 0.5),
    lowerControlLimit: lower === 0 ? null : lower,
    upperControlLimit: upper,
    falseAlarmProbability: { lower: Math.abs(below(lower)), upper: beyond(upper) },
  };
}

/** A count that cannot vary: any other one is a signal. */
function certainCount(count: number, most: number): ProbabilityLimits {
  return {
    centerLine: count,
    lowerControlLimit: count === 0 ? null : count,
    upperControlLimit: count === most ? null : count,
    falseAlarmProbability: { lower: 0, upper: 0 },
  };
}

function countLimits(
  mean: number,
  most: number,
  allowed: number,
  lowerTail: (count: number) => number,
  upperTail: (count: number) => number,
): ProbabilityLimits {
  const beyond = (count: number) => (count >= most ? 0 : upperTail(count + 1));
  const below = (count: number) => (count <= 0 ? 0 : lowerTail(count - 1));
  const upper = smallestWhole(0, most, (count) => beyond(count) <= allowed);
  const lower = smallestWhole(0, most, (count) => below(count + 1) > allowed);
  return {
    centerLine: mean,
    lowerControlLimit: lower === 0 ? null : lower,
    upperControlLimit: upper === most ? null : upper,
    falseAlarmProbability: { lower: below(lower), upper: beyond(upper) },
  };
}

/** The smallest whole number from low to high for which a condition holds that, once true, stays true; high if none. */
function smallestWhole(low: number, high: number, holds: (whole: number) => boolean): number {
  let first = low;
  let last = high;
  while (first < last) {
    const middle = Math.floor((first + last) / 2);
    if (holds(middle)) last = middle;
    else first = middle + 1;
  }
  return first;
}
