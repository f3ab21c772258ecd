import type { Outcome } from '../../errors.ts';
import type { ChartColumns } from '../chart-columns.ts';
import type { ChartPoint } from '../control-chart.ts';
import {
  type AttributesChart,
  type AttributesChartOptions,
  type AttributesSettings,
  attributesChart,
  attributesColumns,
  attributesPoint,
} from './attributes-chart.ts';
import type { AttributesFamily, AttributesLimits } from './attributes-family.ts';
import type { CountSample } from './count-sample.ts';

/** Numbers of nonconforming parts. */
export const npFamily: AttributesFamily = {
  statistic: 'number nonconforming',
  distribution: 'binomial',
  perUnit: false,
};

/**
 * np chart: the number of nonconforming parts, easiest to read where all samples have one size.
 *
 * Limits nᵢp̄ ± k √(nᵢp̄(1 − p̄)), p̄ = all nonconforming parts over all inspected. Where sizes differ the center line
 * moves with them; the p chart is then easier to read.
 *
 * @param samples  in time order: count of nonconforming parts and size (parts inspected); null for a missing sample.
 * @param options  standard: proportion nonconforming (0 … 1), given, or absent to estimate it; multiple (default 3), or
 *                 falseAlarmProbability for exact limits.
 * @returns        points with limits for each size, in parts; a lower limit at or below 0, and an upper one at or above the size, does
 *                 not exist (null). A missing sample has neither value nor limits. Unavailable `too-few-values` where
 *                 every sample is missing. Without any event in the baseline both limits are 0: every event signals.
 * @throws         StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 7870-2, attributes control charts; Montgomery, Introduction to Statistical Quality Control, section 7.2.1.
 *
 * @example
 * npChart([{ count: 5, size: 200 }, { count: 8, size: 200 }, { count: 5, size: 200 }], {});
 * // available, basis.standard 0.03, points[0].limits.centerLine 6, points[0].limits.upperControlLimit 13.23…, points[0].limits.lowerControlLimit null
 */
export function npChart(
  samples: readonly (CountSample | null)[],
  options: AttributesChartOptions = {},
): Outcome<AttributesChart> {
  return attributesChart(npFamily, samples, options);
}

/**
 * One point of a live np chart; it needs no history.
 *
 * @param sample    as in npChart; null for a missing sample.
 * @param settings  standard (given), multiple or falseAlarmProbability, as in npChart.
 * @returns         the point with index 0.
 * @throws          StatisticsError as npChart.
 *
 * Source: as npChart.
 *
 * @example
 * npPoint({ count: 14, size: 200 }, { standard: 0.03 });
 * // value 14, limits.upperControlLimit 13.23…, beyondLimits true
 */
export function npPoint(
  sample: CountSample | null,
  settings: AttributesSettings,
): ChartPoint<AttributesLimits> {
  return attributesPoint(npFamily, sample, settings);
}

/**
 * Np chart of a long series in columns, nothing allocated a point.
 *
 * @param counts    as in npChart, none missing.
 * @param sizes     as many.
 * @param settings  standard (given), multiple or falseAlarmProbability, as in npChart.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         values, limits and signals. A limit that does not exist stands at its natural bound, 0 or the size.
 * @throws          StatisticsError as npChart, `sizes-differ`.
 *
 * Source: as npChart.
 *
 * @example
 * npColumns(Float64Array.of(5, 14), Float64Array.of(200, 200), { standard: 0.03 });
 * // values.1 14, upperControlLimits.1 13.23…, lowerControlLimits.1 0, beyondLimits.1 1
 */
export function npColumns(
  counts: Float64Array,
  sizes: Float64Array,
  settings: AttributesSettings,
  columns?: ChartColumns,
): ChartColumns {
  return attributesColumns(npFamily, counts, sizes, settings, columns);
}
