import { requireFinite, requireFiniteValues, requireWhole } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { subgroupStatistics } from '../samples/subgroup-statistics.ts';

/** What is left of a sample where its readings are not at hand. */
export interface SampleSummary {
  /** Whole, 2 … 1e9. */
  readonly count: number;
  readonly mean: number;
  /** ≥ 0, with count − 1 in the denominator. */
  readonly standardDeviation: number;
}

/** At least two finite readings, or their summary. */
export type Sample = readonly number[] | SampleSummary;

/** Count, mean and standard deviation of a sample given either way. */
export function summaryOf(sample: Sample, argument: string): SampleSummary {
  if (Array.isArray(sample)) {
    requireFiniteValues(sample, argument, 2);
    const { size, mean, standardDeviation } = subgroupStatistics(sample);
    requireModest(Math.abs(mean!), argument, 0);
    requireModest(standardDeviation!, argument);
    return { count: size, mean: mean!, standardDeviation: standardDeviation! };
  }
  const { count, mean, standardDeviation } = sample as SampleSummary;
  requireWhole(count, 2, 1e9, `${argument}.count`);
  requireFinite(mean, `${argument}.mean`);
  requireModest(Math.abs(mean), `${argument}.mean`, 0);
  requireFinite(standardDeviation, `${argument}.standardDeviation`);
  if (standardDeviation < 0)
    throw new StatisticsError(
      'out-of-range',
      `${argument}.standardDeviation`,
      standardDeviation,
      'A standard deviation is never negative.',
    );
  requireModest(standardDeviation, `${argument}.standardDeviation`);
  return { count, mean, standardDeviation };
}

/** Squares and ratios of larger or smaller numbers would leave the range of numbers. */
export function requireModest(size: number, argument: string, least = 1e-60): void {
  if (size > 1e60 || (size !== 0 && size < least))
    throw new StatisticsError(
      'out-of-range',
      argument,
      size,
      'It must lie below 1e60 (a standard deviation that is not 0 also above 1e-60). Use another unit.',
    );
}
