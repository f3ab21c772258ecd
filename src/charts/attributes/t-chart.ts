import { requireBetween } from '../../checks.ts';
import type { Outcome } from '../../errors.ts';
import { type BeyondColumns, beyondColumns } from '../beyond-columns.ts';
import { signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult } from '../control-chart.ts';
import type { AttributesLimits } from './attributes-family.ts';
import { requireFalseAlarmProbability } from './probability-limits.ts';
import {
  flagTimes,
  longestTime,
  noTime,
  noTimePasses,
  requireTime,
  requireTimes,
  shortestMeanTime,
  timePoint,
} from './time-between-events.ts';

export interface TChartOptions {
  /** Given mean time between events, 1e-100 … 1e100. Absent: estimated. */
  readonly standard?: number;
  /** Probability of a false alarm on each side, 1e-12 … 0.5. Default 0.00135. */
  readonly falseAlarmProbability?: number;
}

export interface TSettings extends TChartOptions {
  readonly standard: number;
}

export interface TBasis {
  /** Mean time between events. */
  readonly standard: number;
  readonly origin: 'given' | 'estimated';
  /** Times between events present. */
  readonly times: number;
}

/**
 * t chart: the time between two events (breakages, leaks, stops) that come at random, with exact-probability limits of
 * the exponential distribution. Where events do not come at random (they need time to build up), use tPowerChart.
 *
 * The low side is the bad one: short times mean that events have become more frequent. A point above the upper limit
 * says that they have become rarer.
 *
 * Limits −m ln(1 − α) and −m ln α, center line at the median m ln 2, so that half of the points lie on each side.
 *
 * @param times    times between one event and the next in order, in one unit, 0 … 1e100; null for a missing one.
 * @param options  standard (given mean m, or absent to estimate it), falseAlarmProbability α on each side.
 * @returns        points in the unit of the times, `size` 1, the same limits for all, which keep exactly α on each
 *                 side. Unavailable `too-few-values` where every time is missing, `no-variation` where all are 0.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`.
 *
 * Source: exponential distribution, exact limits by definition of the quantile; Montgomery, Introduction to
 * Statistical Quality Control, section 7.3.5 (time between events charts).
 *
 * @example
 * tChart([100, 0.1, 250, 60], { standard: 100 });
 * // available, points[0].limits.lowerControlLimit 0.135…, points[0].limits.centerLine 69.3…, signals [1]
 */
export function tChart(
  times: readonly (number | null)[],
  options: TChartOptions = {},
): Outcome<ChartResult<TBasis, AttributesLimits>> {
  requireTimes(times);
  let present = 0;
  let sum = 0;
  for (const time of times) {
    if (time === null) continue;
    present++;
    sum += time;
  }
  // The options are checked also where the times leave nothing to draw.
  const standard = options.standard ?? Math.max(sum / Math.max(1, present), shortestMeanTime);
  const limits = tLimits({ ...options, standard }, 'options');
  if (present === 0) return noTime;
  if (options.standard === undefined && sum < shortestMeanTime) return noTimePasses;
  const points = times.map((time, index) => timePoint(index, time, limits));
  return {
    available: true,
    statistic: 'time between events',
    points,
    basis: { standard, origin: options.standard === undefined ? 'estimated' : 'given', times: present },
    signals: signalsOf(points),
  };
}

/**
 * One point of a live t chart; it needs no history.
 *
 * @param time      time since the last event; null for a missing one. Low is bad, as in tChart.
 * @param settings  standard (given mean), falseAlarmProbability.
 * @returns         the point with index 0.
 * @throws          StatisticsError as tChart.
 *
 * Source: as tChart.
 *
 * @example
 * tPoint(700, { standard: 100 });
 * // limits.upperControlLimit 660.7…, beyondLimits true
 */
export function tPoint(time: number | null, settings: TSettings): ChartPoint<AttributesLimits> {
  if (time !== null) requireTime(time, 'time');
  return timePoint(0, time, tLimits(settings, 'settings'));
}

/**
 * t chart of a long series: which times are beyond the limits, nothing allocated a point. The limits are the same for
 * all: those of tPoint.
 *
 * @param times     as in tChart, none missing.
 * @param settings  as in tPoint.
 * @param columns   a column of the same length to fill again; absent: a new one.
 * @returns         beyondLimits: 0 inside, 1 above, 2 below (the bad side), one entry a time.
 * @throws          StatisticsError as tChart, `sizes-differ`.
 *
 * Source: as tChart.
 *
 * @example
 * tColumns(Float64Array.of(100, 0.1, 700), { standard: 100 });
 * // beyondLimits.0 0, beyondLimits.1 2, beyondLimits.2 1
 */
export function tColumns(times: Float64Array, settings: TSettings, columns?: BeyondColumns): BeyondColumns {
  const filled = beyondColumns(times.length, columns, 'times');
  flagTimes(times, tLimits(settings, 'settings'), filled.beyondLimits);
  return filled;
}

function tLimits(
  { standard, falseAlarmProbability = 0.00135 }: TSettings,
  argument: string,
): AttributesLimits {
  requireBetween(standard, shortestMeanTime, longestTime, `${argument}.standard`);
  requireFalseAlarmProbability(falseAlarmProbability, `${argument}.falseAlarmProbability`);
  return {
    centerLine: standard * Math.LN2,
    lowerControlLimit: -standard * Math.log1p(-falseAlarmProbability),
    upperControlLimit: -standard * Math.log(falseAlarmProbability),
    standardDeviation: standard,
    falseAlarmProbability: { lower: falseAlarmProbability, upper: falseAlarmProbability },
  };
}
