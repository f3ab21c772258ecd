import { requireBetween, requireName } from '../../checks.ts';
import { type Outcome, StatisticsError } from '../../errors.ts';
import { type BeyondColumns, beyondColumns, flagCounts } from '../beyond-columns.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult } from '../control-chart.ts';
import { requireMultiple } from '../small-shifts/time-weighted.ts';
import type { AttributesLimits } from './attributes-family.ts';
import { requireCount } from './count-sample.ts';
import {
  geometricProbabilityLimits,
  largestMeanBetween,
  requireFalseAlarmProbability,
} from './probability-limits.ts';

export interface GChartOptions {
  /** Given mean number of good parts between events, 0 … 1e12. Absent: estimated. */
  readonly standard?: number;
  /**
   * 'exact-probability' (default): quantiles of the geometric distribution, center line at its median;
   * 'standard-deviation': mean ± multiple · √(mean (mean + 1)), which has no lower limit up to a multiple of 1 and
   * more: it cannot see that events have become more frequent.
   */
  readonly limits?: 'exact-probability' | 'standard-deviation';
  /** Allowed probability of a false alarm on each side, 1e-12 … 0.5, for exact limits. Default 0.00135. */
  readonly falseAlarmProbability?: number;
  /** Standard deviations between center line and limit, > 0, at most 1000. Default 3. */
  readonly multiple?: number;
}

export interface GSettings extends GChartOptions {
  readonly standard: number;
}

export interface GBasis {
  /** Mean number of good parts between events. */
  readonly standard: number;
  readonly origin: 'given' | 'estimated';
  /** Gaps between events present. */
  readonly gaps: number;
}

/**
 * g chart: the number of good parts between two events (nonconforming parts, leaks, stops), for events too rare for a
 * p chart.
 *
 * The low side is the bad one: few parts between events means that events have become more frequent. A point above the
 * upper limit says that they have become rarer.
 *
 * @param gaps     good parts between one event and the next, the events themselves not counted, in time order; whole,
 *                 ≥ 0; null for a missing one.
 * @param options  standard (given mean, or absent to estimate it), kind of limits, and how wide they are.
 * @returns        points in parts, `size` 1, the same limits for all; a lower limit at 0 does not exist (null). Exact
 *                 limits state the actual probability of a false alarm on each side. Unavailable `too-few-values`
 *                 where every gap is missing.
 * @throws         StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`, `unknown-name`.
 *
 * Source: Kaminsky, Benneyan, Davis and Burke, Journal of Quality Technology 24(2), 1992; Benneyan, Health Care
 * Management Science 4, 2001 (both cited from memory).
 *
 * @example
 * gChart([820, 1310, 95, 0, 402], { standard: 999 });
 * // available, points[0].limits.lowerControlLimit 1, points[0].limits.falseAlarmProbability.lower 0.001, signals [3]
 */
export function gChart(
  gaps: readonly (number | null)[],
  options: GChartOptions = {},
): Outcome<ChartResult<GBasis, AttributesLimits>> {
  if (gaps.length === 0) throw new StatisticsError('empty', 'gaps', gaps);
  let present = 0;
  let sum = 0;
  gaps.forEach((gap, index) => {
    if (gap === null) return;
    requireCount(gap, `gaps.${index}`);
    requireBetween(gap, 0, largestMeanBetween, `gaps.${index}`);
    present++;
    sum += gap;
  });
  const standard = options.standard ?? (present === 0 ? 0 : sum / present);
  const limits = gLimits({ ...options, standard }, 'options');
  if (present === 0)
    return {
      available: false,
      reason: 'too-few-values',
      message: 'Every gap is missing. Record at least one.',
    };
  const points = gaps.map((gap, index) => plotted(index, gap, limits));
  return {
    available: true,
    statistic: 'parts between events',
    points,
    basis: { standard, origin: options.standard === undefined ? 'estimated' : 'given', gaps: present },
    signals: signalsOf(points),
  };
}

/**
 * One point of a live g chart; it needs no history.
 *
 * @param gap       good parts since the last event; null for a missing one. Low is bad, as in gChart.
 * @param settings  standard (given mean), kind of limits, and how wide they are.
 * @returns         the point with index 0.
 * @throws          StatisticsError as gChart.
 *
 * Source: as gChart.
 *
 * @example
 * gPoint(7000, { standard: 999 });
 * // limits.upperControlLimit 6604, beyondLimits true
 */
export function gPoint(gap: number | null, settings: GSettings): ChartPoint<AttributesLimits> {
  if (gap !== null) requireCount(gap, 'gap');
  return plotted(0, gap, gLimits(settings, 'settings'));
}

/**
 * g chart of a long series: which gaps are beyond the limits, nothing allocated a point. The limits are the same for
 * all: those of gPoint.
 *
 * @param gaps      as in gChart, none missing.
 * @param settings  as in gPoint.
 * @param columns   a column of the same length to fill again; absent: a new one.
 * @returns         beyondLimits: 0 inside, 1 above, 2 below (the bad side), one entry a gap.
 * @throws          StatisticsError as gChart, `sizes-differ`.
 *
 * Source: as gChart.
 *
 * @example
 * gColumns(Float64Array.of(820, 0, 7000), { standard: 999 });
 * // beyondLimits.0 0, beyondLimits.1 2, beyondLimits.2 1
 */
export function gColumns(gaps: Float64Array, settings: GSettings, columns?: BeyondColumns): BeyondColumns {
  const filled = beyondColumns(gaps.length, columns, 'gaps');
  flagCounts(gaps, gLimits(settings, 'settings'), filled, 'gaps');
  return filled;
}

function plotted(index: number, gap: number | null, limits: AttributesLimits): ChartPoint<AttributesLimits> {
  return gap === null
    ? chartPoint<AttributesLimits>(index, null, 0, null)
    : chartPoint(index, gap, 1, limits);
}

const kinds = ['exact-probability', 'standard-deviation'] as const;

function gLimits(settings: GSettings, argument: string): AttributesLimits {
  const { standard, limits = 'exact-probability', falseAlarmProbability = 0.00135, multiple = 3 } = settings;
  requireBetween(standard, 0, largestMeanBetween, `${argument}.standard`);
  requireName(limits, kinds, `${argument}.limits`);
  requireFalseAlarmProbability(falseAlarmProbability, `${argument}.falseAlarmProbability`);
  requireMultiple(multiple, `${argument}.multiple`);
  const standardDeviation = Math.sqrt(standard * (standard + 1));
  if (limits === 'exact-probability')
    return { ...geometricProbabilityLimits({ mean: standard, falseAlarmProbability }), standardDeviation };
  const lower = standard - multiple * standardDeviation;
  return {
    centerLine: standard,
    lowerControlLimit: lower <= 0 ? null : lower,
    upperControlLimit: standard + multiple * standardDeviation,
    standardDeviation,
    falseAlarmProbability: null,
  };
}
