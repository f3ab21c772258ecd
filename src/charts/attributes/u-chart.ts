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

/** Nonconformities in one unit. */
export const uFamily: AttributesFamily = {
  statistic: 'nonconformities per unit',
  distribution: 'poisson',
  perUnit: true,
};

/**
 * u chart: nonconformities per unit, for samples of several units, metres or square metres, also of different sizes.
 *
 * Limits ū ± k √(ū/aᵢ), ū = all nonconformities over all units.
 *
 * Many signals in large samples with nothing wrong: ask countDispersion whether the counts vary more than chance, then
 * uPrimeChart.
 *
 * @param samples  in time order: count of nonconformities and size (units, any number from 1e-100 to 1e100); null for a missing sample.
 * @param options  standard: nonconformities per unit (0 … 1e100), given, or absent to estimate it; multiple (default 3), or
 *                 falseAlarmProbability for exact limits.
 * @returns        points with limits for each size, in nonconformities per unit; a lower limit at or below 0 does
 *                 not exist (null). A missing sample has neither value nor limits. Unavailable `too-few-values` where
 *                 every sample is missing. Without any event in the baseline both limits are 0: every event signals.
 * @throws         StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 7870-2, attributes control charts; Montgomery, Introduction to Statistical Quality Control, section 7.3.2.
 *
 * @example
 * uChart([{ count: 10, size: 5 }, { count: 2, size: 4 }, null, { count: 12, size: 3 }], {});
 * // available, basis.standard 2, points[0].limits.upperControlLimit 3.89…, points[1].limits.lowerControlLimit null, points[2].value null, signals []
 */
export function uChart(
  samples: readonly (CountSample | null)[],
  options: AttributesChartOptions = {},
): Outcome<AttributesChart> {
  return attributesChart(uFamily, samples, options);
}

/**
 * One point of a live u chart; it needs no history.
 *
 * @param sample    as in uChart; null for a missing sample.
 * @param settings  standard (given), multiple or falseAlarmProbability, as in uChart.
 * @returns         the point with index 0.
 * @throws          StatisticsError as uChart.
 *
 * Source: as uChart.
 *
 * @example
 * uPoint({ count: 14, size: 3 }, { standard: 2 });
 * // value 4.666…, limits.upperControlLimit 4.449…, beyondLimits true
 */
export function uPoint(
  sample: CountSample | null,
  settings: AttributesSettings,
): ChartPoint<AttributesLimits> {
  return attributesPoint(uFamily, sample, settings);
}

/**
 * U chart of a long series in columns, nothing allocated a point.
 *
 * @param counts    as in uChart, none missing.
 * @param sizes     as many.
 * @param settings  standard (given), multiple or falseAlarmProbability, as in uChart.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         values, limits and signals. A limit that does not exist stands at its natural bound, 0.
 * @throws          StatisticsError as uChart, `sizes-differ`.
 *
 * Source: as uChart.
 *
 * @example
 * uColumns(Float64Array.of(10, 14), Float64Array.of(5, 3), { standard: 2 });
 * // values.0 2, upperControlLimits.1 4.449…, lowerControlLimits.1 0, beyondLimits.1 1
 */
export function uColumns(
  counts: Float64Array,
  sizes: Float64Array,
  settings: AttributesSettings,
  columns?: ChartColumns,
): ChartColumns {
  return attributesColumns(uFamily, counts, sizes, settings, columns);
}
