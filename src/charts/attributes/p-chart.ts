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

/** Proportions of nonconforming parts. */
export const pFamily: AttributesFamily = {
  statistic: 'proportion nonconforming',
  distribution: 'binomial',
  perUnit: true,
};

/**
 * p chart: the proportion of nonconforming parts, for samples whose sizes may differ.
 *
 * Limits p̄ ± k √(p̄(1 − p̄)/nᵢ), p̄ = all nonconforming parts over all inspected.
 *
 * Many signals in large samples with nothing wrong: ask countDispersion whether the counts vary more than chance, then
 * pPrimeChart.
 *
 * @param samples  in time order: count of nonconforming parts and size (parts inspected); null for a missing sample.
 * @param options  standard: proportion nonconforming (0 … 1), given, or absent to estimate it; multiple (default 3), or
 *                 falseAlarmProbability for exact limits.
 * @returns        points with limits for each size, dimensionless; a lower limit at or below 0, and an upper one at or above 1, does
 *                 not exist (null). A missing sample has neither value nor limits. Unavailable `too-few-values` where
 *                 every sample is missing. Without any event in the baseline both limits are 0: every event signals.
 * @throws         StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 7870-2, attributes control charts; Montgomery, Introduction to Statistical Quality Control, section 7.2.1.
 *
 * @example
 * pChart([{ count: 5, size: 200 }, { count: 8, size: 150 }, { count: 17, size: 150 }], {});
 * // available, basis.standard 0.06, points[0].limits.upperControlLimit 0.1103…, points[1].limits.lowerControlLimit 0.0018…, signals []
 */
export function pChart(
  samples: readonly (CountSample | null)[],
  options: AttributesChartOptions = {},
): Outcome<AttributesChart> {
  return attributesChart(pFamily, samples, options);
}

/**
 * One point of a live p chart; it needs no history.
 *
 * @param sample    as in pChart; null for a missing sample.
 * @param settings  standard (given), multiple or falseAlarmProbability, as in pChart.
 * @returns         the point with index 0.
 * @throws          StatisticsError as pChart.
 *
 * Source: as pChart.
 *
 * @example
 * pPoint({ count: 17, size: 150 }, { standard: 0.03 });
 * // value 0.1133…, limits.upperControlLimit 0.0717…, beyondLimits true
 */
export function pPoint(
  sample: CountSample | null,
  settings: AttributesSettings,
): ChartPoint<AttributesLimits> {
  return attributesPoint(pFamily, sample, settings);
}

/**
 * P chart of a long series in columns, nothing allocated a point.
 *
 * @param counts    as in pChart, none missing.
 * @param sizes     as many.
 * @param settings  standard (given), multiple or falseAlarmProbability, as in pChart.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         values, limits and signals. A limit that does not exist stands at its natural bound, 0 or 1.
 * @throws          StatisticsError as pChart, `sizes-differ`.
 *
 * Source: as pChart.
 *
 * @example
 * pColumns(Float64Array.of(5, 17), Float64Array.of(200, 150), { standard: 0.03 });
 * // values.0 0.025, upperControlLimits.1 0.0717…, lowerControlLimits.1 0, beyondLimits.1 1
 */
export function pColumns(
  counts: Float64Array,
  sizes: Float64Array,
  settings: AttributesSettings,
  columns?: ChartColumns,
): ChartColumns {
  return attributesColumns(pFamily, counts, sizes, settings, columns);
}
