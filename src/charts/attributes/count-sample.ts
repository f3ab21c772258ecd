import { requireBetween, requireWhole } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';

/** What was counted in one sample. */
export interface CountSample {
  /** Nonconforming parts, or nonconformities (several can sit on one part); whole, ≥ 0. */
  readonly count: number;
  /** Parts inspected (whole, ≥ 1), or for nonconformities per unit the units, metres or square metres looked at. */
  readonly size: number;
}

/**
 * binomial: parts that are good or not, so that there are never more than were inspected;
 * poisson: nonconformities, of which there can be any number.
 */
export type CountDistribution = 'binomial' | 'poisson';

export const countDistributions: readonly CountDistribution[] = ['binomial', 'poisson'];

const largestCount = Number.MAX_SAFE_INTEGER;
/** Sizes between these leave every ratio of count and size, and its square, inside the range of a double. */
export const smallestSize = 1e-100;
export const largestSize = 1e100;

export function requireCount(count: number, argument: string): void {
  requireWhole(count, 0, largestCount, argument);
}

/** A sample that can exist; `countArgument` and `sizeArgument` are what the caller calls its two numbers. */
export function requireCountAndSize(
  count: number,
  size: number,
  distribution: CountDistribution,
  countArgument: string,
  sizeArgument: string,
): void {
  if (distribution === 'binomial') requireWhole(size, 1, largestCount, sizeArgument);
  else requireBetween(size, smallestSize, largestSize, sizeArgument);
  requireCount(count, countArgument);
  if (distribution === 'binomial' && count > size)
    throw new StatisticsError(
      'out-of-range',
      countArgument,
      count,
      `There cannot be more nonconforming parts than were inspected (${size}).`,
    );
}

export function requireCountSample(
  sample: CountSample,
  distribution: CountDistribution,
  argument: string,
): void {
  requireCountAndSize(sample.count, sample.size, distribution, `${argument}.count`, `${argument}.size`);
}
