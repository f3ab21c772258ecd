import { requireBetween, requireFinite, requirePositive, requireWhole } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';
import { normalQuantile, normalUpperTail } from '../../numerics/normal.ts';
import { rangeQuantile, rangeUpperTail } from '../../samples/range-distribution.ts';
import { rangeMoments } from '../../samples/range-moments.ts';
import type { ControlLimits, ProcessStandard } from '../control-chart.ts';

/** How far out a lane must be to count: one of the two conventions. */
export interface GroupLimitOptions {
  /** Plain convention: the limits of a single lane, this many standard deviations out, > 0, at most 1000. Default 3. */
  readonly multiple?: number;
  /**
   * Probability that one sample of all lanes together gives a false signal, 1e-9 … 0.5: for means on both sides together, and
   * for ranges by themselves. Given, it takes the place of `multiple`.
   */
  readonly falseAlarmProbability?: number;
}

export interface GroupLimitsInput extends GroupLimitOptions {
  /** Mean and standard deviation (> 0) common to all lanes. */
  readonly standard: Pick<ProcessStandard, 'mean' | 'withinSubgroupStandardDeviation'>;
  /** Lanes that have a value in the sample, 1 … 1000. */
  readonly lanes: number;
  /** Readings of each lane, 1 … 100. */
  readonly size: number;
}

export interface GroupLimits {
  /** For the largest and the smallest lane mean. */
  readonly mean: ControlLimits;
  /** For the largest lane range; null for single readings. It has no lower limit: only a large range is a signal. */
  readonly range: ControlLimits | null;
  /** Probability that a sample with nothing wrong in any lane has a mean, a range beyond its limits. */
  readonly meanFalseAlarmProbability: number;
  readonly rangeFalseAlarmProbability: number | null;
}

/**
 * Limits for the extremes of several lanes (cavities, spindles, weld heads) on one chart.
 *
 * The plain convention draws the limits of a single lane, so with k lanes a false signal is nearly k times as likely; it is
 * returned beside the limits. For a wanted probability α each lane gets 1 − (1 − α)^(1/k), which is exact for independent
 * normal lanes: means by the normal distribution, ranges by the distribution of the range.
 *
 * @param input  standard, lanes, size, and one of the conventions.
 * @returns      limits in the unit of the readings. Relative error below 1e-9.
 * @throws       StatisticsError `not-finite`, `out-of-range`, `not-an-integer` (name the field).
 *
 * Source: ISO 7870-5, group control charts; Montgomery, Introduction to Statistical Quality Control, section 10.3.2; the
 * extremes of k independent values as in ISO 16269-4.
 *
 * @example
 * groupLimits({ standard: { mean: 20, withinSubgroupStandardDeviation: 0.1 }, lanes: 6, size: 4 });
 * // mean.upperControlLimit 20.15, range.upperControlLimit 0.469…, meanFalseAlarmProbability 0.0160…
 */
export function groupLimits(input: GroupLimitsInput): GroupLimits {
  const { standard, lanes, size, multiple = 3, falseAlarmProbability } = input;
  requireFinite(standard.mean, 'standard.mean');
  const within = standard.withinSubgroupStandardDeviation;
  requirePositive(within, 'standard.withinSubgroupStandardDeviation');
  requireWhole(lanes, 1, 1000, 'lanes');
  requireWhole(size, 1, 100, 'size');
  requirePositive(multiple, 'multiple');
  requireBetween(multiple, 0, 1000, 'multiple');
  if (falseAlarmProbability !== undefined)
    requireBetween(falseAlarmProbability, 1e-9, 0.5, 'falseAlarmProbability');

  /** Probability for one lane that makes `falseAlarmProbability` for all. */
  const share = falseAlarmProbability === undefined ? null : shareOfOne(falseAlarmProbability, lanes);
  const distance = share === null ? multiple : -normalQuantile(share / 2);
  const standardError = within / Math.sqrt(size);
  const mean = {
    centerLine: standard.mean,
    lowerControlLimit: standard.mean - distance * standardError,
    upperControlLimit: standard.mean + distance * standardError,
    standardDeviation: standardError,
  };
  const meanFalseAlarmProbability = falseAlarmProbability ?? ofAll(2 * normalUpperTail(multiple), lanes);
  if (size === 1)
    return {
      mean: finiteLimits(mean),
      range: null,
      meanFalseAlarmProbability,
      rangeFalseAlarmProbability: null,
    };
  const { d2, d3 } = rangeMoments(size, 'size');
  const width = share === null ? d2 + multiple * d3 : rangeQuantile(share, size);
  return {
    mean: finiteLimits(mean),
    range: finiteLimits({
      centerLine: d2 * within,
      lowerControlLimit: null,
      upperControlLimit: width * within,
      standardDeviation: d3 * within,
    }),
    meanFalseAlarmProbability,
    rangeFalseAlarmProbability: falseAlarmProbability ?? ofAll(rangeUpperTail(width, size), lanes),
  };
}

/** Probability that at least one of `lanes` independent ones is out, each with probability `one`. */
function ofAll(one: number, lanes: number): number {
  return -Math.expm1(lanes * Math.log1p(-Math.min(one, 1)));
}

/** The inverse of ofAll. */
function shareOfOne(all: number, lanes: number): number {
  return -Math.expm1(Math.log1p(-all) / lanes);
}

function finiteLimits(limits: ControlLimits): ControlLimits {
  if (Number.isFinite(limits.upperControlLimit) && Number.isFinite(limits.lowerControlLimit ?? 0))
    return limits;
  throw new StatisticsError(
    'out-of-range',
    'standard.withinSubgroupStandardDeviation',
    limits.standardDeviation,
    'The limits are too large to compute.',
  );
}
