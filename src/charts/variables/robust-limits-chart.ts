import { requireBetween, requireName } from '../../checks.ts';
import { type Outcome, StatisticsError } from '../../errors.ts';
import { type RobustStatistics, robustStatistics } from '../../samples/robust-statistics.ts';
import { type BeyondColumns, beyondColumns, flagValues } from '../beyond-columns.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult, ControlLimits } from '../control-chart.ts';
import { requireMultiple } from '../small-shifts/time-weighted.ts';

export interface RobustLimitsOptions {
  /** Center line. Default 'median'. */
  readonly location?: 'median' | 'Hodges-Lehmann';
  /** What the standard deviation is taken from. Default 'median-absolute-deviation'. */
  readonly spread?: 'median-absolute-deviation' | 'interquartile-range';
  /** Standard deviations between center line and limit, > 0, at most 1000. Default 3. */
  readonly multiple?: number;
}

/** Level and spread found from trial data, for later values. */
export interface RobustLimitsSettings {
  /** Within ±1e300, in the unit of the values. */
  readonly centerLine: number;
  /** 1e-300 … 1e300. */
  readonly standardDeviation: number;
  readonly multiple?: number;
}

export interface RobustLimitsBasis extends RobustStatistics {
  readonly location: 'median' | 'Hodges-Lehmann';
  readonly spread: 'median-absolute-deviation' | 'interquartile-range';
  readonly centerLine: number;
  readonly standardDeviation: number;
}

/**
 * Chart of single values with robust limits, for trial data that hold outliers: median ± k · MAD/Φ⁻¹(3/4). Mean and moving
 * range would be carried away by the very values that the chart has to find. Look for the cause of each value outside before
 * it is left out of a baseline.
 *
 * @param values   single values or subgroup means of one size in time order, one unit, within ±1e300; null for a missing one.
 * @param options  location (median, or Hodges-Lehmann, which wastes less of clean data), spread, multiple (default 3).
 * @returns        points in the unit of the values, the same limits for all; the basis holds every robust measure.
 *                 Unavailable `too-few-values` for fewer than two values, `no-variation` where the spread is 0.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: as robustStatistics; ISO 7870-2 for the limits.
 *
 * @example
 * robustLimitsChart([10.1, 9.9, 10, 10.2, 35], {});
 * // available, basis.median 10.1, points[0].limits.upperControlLimit 10.54…, signals [4]
 */
export function robustLimitsChart(
  values: readonly (number | null)[],
  options: RobustLimitsOptions = {},
): Outcome<ChartResult<RobustLimitsBasis, ControlLimits>> {
  const { location = 'median', spread = 'median-absolute-deviation', multiple = 3 } = options;
  requireName(location, ['median', 'Hodges-Lehmann'], 'options.location');
  requireName(spread, ['median-absolute-deviation', 'interquartile-range'], 'options.spread');
  requireMultiple(multiple, 'options.multiple');
  if (values.length === 0) throw new StatisticsError('empty', 'values', values);
  values.forEach((value, index) => {
    if (value !== null) requireBetween(value, -largest, largest, `values.${index}`);
  });
  const present = values.filter((value) => value !== null);
  if (present.length < 2)
    return {
      available: false,
      reason: 'too-few-values',
      message: `Limits need at least two values; there ${present.length === 1 ? 'is one' : 'is none'}. Measure more.`,
    };
  const statistics = robustStatistics(present);
  const centerLine = location === 'median' ? statistics.median : statistics.hodgesLehmann;
  const standardDeviation =
    spread === 'median-absolute-deviation'
      ? statistics.standardDeviationFromMedianAbsoluteDeviation
      : statistics.standardDeviationFromInterquartileRange;
  if (standardDeviation < smallestSpread)
    return {
      available: false,
      reason: 'no-variation',
      message: 'Half of the values or more are equal, so their spread is 0. Use a gauge with a finer scale.',
    };
  const limits = limitsOf({ centerLine, standardDeviation, multiple });
  const points = values.map((value, index) => plotted(index, value, limits));
  return {
    available: true,
    statistic: 'individual value',
    points,
    basis: { ...statistics, location, spread, centerLine, standardDeviation },
    signals: signalsOf(points),
  };
}

/**
 * One point of a live chart with limits from robust trial data; it needs no history.
 *
 * @param value     the new value; null for a missing one.
 * @param settings  centerLine and standardDeviation, as in the basis of robustLimitsChart; multiple.
 * @returns         the point with index 0.
 * @throws          StatisticsError as robustLimitsChart.
 *
 * Source: as robustLimitsChart.
 *
 * @example
 * robustLimitsPoint(35, { centerLine: 10, standardDeviation: 0.5 });
 * // limits.upperControlLimit 11.5, beyondLimits true
 */
export function robustLimitsPoint(
  value: number | null,
  settings: RobustLimitsSettings,
): ChartPoint<ControlLimits> {
  requireSettings(settings);
  if (value !== null) requireBetween(value, -largest, largest, 'value');
  return plotted(0, value, limitsOf(settings));
}

/**
 * Chart of a long series with limits from robust trial data: which values are beyond them, nothing allocated a value. The
 * limits are the same for all: those of robustLimitsPoint.
 *
 * @param values    in time order, none missing.
 * @param settings  as in robustLimitsPoint.
 * @param columns   a column of the same length to fill again; absent: a new one.
 * @returns         beyondLimits: 0 inside, 1 above, 2 below, one entry a value.
 * @throws          StatisticsError as robustLimitsChart, `sizes-differ`.
 *
 * Source: as robustLimitsChart.
 *
 * @example
 * robustLimitsColumns(Float64Array.of(10, 35, 8), { centerLine: 10, standardDeviation: 0.5 });
 * // beyondLimits.0 0, beyondLimits.1 1, beyondLimits.2 2
 */
export function robustLimitsColumns(
  values: Float64Array,
  settings: RobustLimitsSettings,
  columns?: BeyondColumns,
): BeyondColumns {
  requireSettings(settings);
  const filled = beyondColumns(values.length, columns, 'values');
  flagValues(values, limitsOf(settings), filled, 'values');
  return filled;
}

const largest = 1e300;
const smallestSpread = 1e-300;

function requireSettings({ centerLine, standardDeviation, multiple = 3 }: RobustLimitsSettings): void {
  requireBetween(centerLine, -largest, largest, 'settings.centerLine');
  requireBetween(standardDeviation, smallestSpread, largest, 'settings.standardDeviation');
  requireMultiple(multiple, 'settings.multiple');
}

function limitsOf({ centerLine, standardDeviation, multiple = 3 }: RobustLimitsSettings): ControlLimits {
  return {
    centerLine,
    lowerControlLimit: centerLine - multiple * standardDeviation,
    upperControlLimit: centerLine + multiple * standardDeviation,
    standardDeviation,
  };
}

function plotted(index: number, value: number | null, limits: ControlLimits): ChartPoint<ControlLimits> {
  return value === null
    ? chartPoint<ControlLimits>(index, null, 0, null)
    : chartPoint(index, value, 1, limits);
}
