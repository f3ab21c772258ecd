import { requireBetween } from '../../checks.ts';
import type { Outcome } from '../../errors.ts';
import { movingRanges } from '../../samples/moving-ranges.ts';
import { rangeMoments } from '../../samples/range-moments.ts';
import { type BeyondColumns, beyondColumns } from '../beyond-columns.ts';
import { signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult, LimitLines } from '../control-chart.ts';
import { requireMultiple } from '../small-shifts/time-weighted.ts';
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

/** Level and spread of the transformed times y = t^(1/3.6). */
export interface TPowerStandard {
  /** 1e-100 … 1e100. */
  readonly mean: number;
  /** 1e-100 … 1e100. */
  readonly standardDeviation: number;
}

export interface TPowerChartOptions {
  /** Given level and spread of the transformed times. Absent: estimated. */
  readonly standard?: TPowerStandard;
  /** Standard deviations between center line and limit, > 0, at most 1000. Default 3. */
  readonly multiple?: number;
}

export interface TPowerSettings extends TPowerChartOptions {
  readonly standard: TPowerStandard;
}

export interface TPowerBasis extends TPowerStandard {
  readonly origin: 'given' | 'estimated';
  /** Times between events present. */
  readonly times: number;
  /** Transformed times t^(1/3.6); null for a missing one. */
  readonly transformed: readonly (number | null)[];
}

const power = 1 / 3.6;

/**
 * t chart by Nelson's power transformation: t^0.2777 turns exponential times, and nearly so Weibull ones, into values
 * close to normal, which are charted as individuals by their average moving range; the limits are then turned back into
 * times. It follows the spread that the times really have, where tChart takes it from the exponential distribution.
 *
 * The low side is the bad one: short times mean that events have become more frequent.
 *
 * @param times    times between one event and the next in order, in one unit, 0 … 1e100; null for a missing one, across
 *                 which no moving range is formed.
 * @param options  standard (given, or absent to estimate it), multiple (default 3).
 * @returns        points in the unit of the times, `size` 1, the same limits for all; no lower limit (null) where the
 *                 transformed one is 0 or less. Unavailable `too-few-values` without two times in a row,
 *                 `no-variation` where all moving ranges are 0.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`.
 *
 * Source: Nelson, A control chart for parts-per-million nonconforming items, Journal of Quality Technology 26(3), 1994;
 * Montgomery, Introduction to Statistical Quality Control, section 7.3.5.
 *
 * @example
 * tPowerChart([286, 948, 536, 124, 816], {});
 * // available, basis.transformed[0] 4.811…, points[0].limits.lowerControlLimit 0.130…, signals []
 */
export function tPowerChart(
  times: readonly (number | null)[],
  options: TPowerChartOptions = {},
): Outcome<ChartResult<TPowerBasis, LimitLines>> {
  requireTimes(times);
  requireMultiple(options.multiple ?? 3, 'options.multiple');
  if (options.standard !== undefined) requirePowerStandard(options.standard, 'options.standard');
  const transformed = times.map((time) => (time === null ? null : time ** power));
  const present = transformed.filter((value) => value !== null);
  const estimate = options.standard ?? estimated(transformed, present);
  if (present.length === 0 || estimate === null) return noTime;
  if (estimate.standardDeviation < shortestMeanTime) return noTimePasses;
  const limits = powerLimits({ ...options, standard: estimate });
  const points = times.map((time, index) => timePoint(index, time, limits));
  return {
    available: true,
    statistic: 'time between events',
    points,
    basis: {
      mean: estimate.mean,
      standardDeviation: estimate.standardDeviation,
      origin: options.standard === undefined ? 'estimated' : 'given',
      times: present.length,
      transformed,
    },
    signals: signalsOf(points),
  };
}

/**
 * One point of a live t chart with limits by Nelson's transformation; it needs no history.
 *
 * @param time      time since the last event; null for a missing one. Low is bad.
 * @param settings  standard (given), multiple.
 * @returns         the point with index 0.
 * @throws          StatisticsError as tPowerChart.
 *
 * Source: as tPowerChart.
 *
 * @example
 * tPowerPoint(3000, { standard: { mean: 4, standardDeviation: 1 } });
 * // limits.centerLine 147.0…, limits.lowerControlLimit 1, limits.upperControlLimit 1102.43…, beyondLimits true
 */
export function tPowerPoint(time: number | null, settings: TPowerSettings): ChartPoint<LimitLines> {
  requireMultiple(settings.multiple ?? 3, 'settings.multiple');
  requirePowerStandard(settings.standard, 'settings.standard');
  if (time !== null) requireTime(time, 'time');
  return timePoint(0, time, powerLimits(settings));
}

/**
 * t chart of a long series with limits by Nelson's transformation: which times are beyond them, nothing allocated a
 * point. The limits are the same for all: those of tPowerPoint.
 *
 * @param times     as in tPowerChart, none missing.
 * @param settings  as in tPowerPoint.
 * @param columns   a column of the same length to fill again; absent: a new one.
 * @returns         beyondLimits: 0 inside, 1 above, 2 below (the bad side), one entry a time.
 * @throws          StatisticsError as tPowerChart, `sizes-differ`.
 *
 * Source: as tPowerChart.
 *
 * @example
 * tPowerColumns(Float64Array.of(147, 0.5, 3000), { standard: { mean: 4, standardDeviation: 1 } });
 * // beyondLimits.0 0, beyondLimits.1 2, beyondLimits.2 1
 */
export function tPowerColumns(
  times: Float64Array,
  settings: TPowerSettings,
  columns?: BeyondColumns,
): BeyondColumns {
  const filled = beyondColumns(times.length, columns, 'times');
  flagTimes(times, tPowerPoint(0, settings).limits!, filled.beyondLimits);
  return filled;
}

/** Mean, and average moving range over d2(2); null where no two times follow each other. */
function estimated(
  transformed: readonly (number | null)[],
  present: readonly number[],
): TPowerStandard | null {
  const ranges = movingRanges(transformed).filter((range) => range !== null);
  if (ranges.length === 0) return null;
  const average = (values: readonly number[]) =>
    values.reduce((sum, value) => sum + value, 0) / values.length;
  return { mean: average(present), standardDeviation: average(ranges) / rangeMoments(2).d2 };
}

function requirePowerStandard({ mean, standardDeviation }: TPowerStandard, argument: string): void {
  // The largest power that turns back into a time that is still a double.
  const largest = longestTime ** power;
  requireBetween(mean, shortestMeanTime, largest, `${argument}.mean`);
  requireBetween(standardDeviation, shortestMeanTime, largest, `${argument}.standardDeviation`);
}

function powerLimits({ standard: { mean, standardDeviation }, multiple = 3 }: TPowerSettings): LimitLines {
  const lower = mean - multiple * standardDeviation;
  const upper = mean + multiple * standardDeviation;
  return {
    centerLine: mean ** 3.6,
    lowerControlLimit: lower <= 0 ? null : lower ** 3.6,
    upperControlLimit: upper ** 3.6,
  };
}
