import { requireBetween } from '../../checks.ts';
import { type Outcome, StatisticsError } from '../../errors.ts';
import { type BeyondColumns, beyondColumns, flagCounts } from '../beyond-columns.ts';
import type { ChartPoint } from '../control-chart.ts';
import {
  type AttributesChart,
  type AttributesChartOptions,
  type AttributesSettings,
  attributesChart,
  attributesPoint,
} from './attributes-chart.ts';
import type { AttributesFamily, AttributesLimits } from './attributes-family.ts';
import { requireCount } from './count-sample.ts';
import { largestSizeOrMean } from './probability-limits.ts';

/** Numbers of nonconformities in samples of one size. */
const cFamily: AttributesFamily = {
  statistic: 'number of nonconformities',
  distribution: 'poisson',
  perUnit: false,
};

/**
 * c chart: the number of nonconformities in samples that all have the same size.
 *
 * Limits c̄ ± k √c̄. Samples of different sizes belong on a u chart.
 *
 * @param counts   nonconformities in each sample in time order, whole, ≥ 0; null for a missing sample.
 * @param options  standard: nonconformities a sample (0 … 1e100), given, or absent to estimate it; multiple (default 3),
 *                 or falseAlarmProbability for exact limits.
 * @returns        points in nonconformities a sample, `size` 1; a lower limit at or below 0 does not exist (null). A
 *                 missing sample has neither value nor limits. Unavailable `too-few-values` where every sample is
 *                 missing. Without any nonconformity in the baseline both limits are 0: every one signals.
 * @throws         StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 7870-2, attributes control charts; NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.3.1.
 *
 * @example
 * cChart([16, 14, 28, 6], {});
 * // available, basis.standard 16, points[0].limits.upperControlLimit 28, points[0].limits.lowerControlLimit 4, signals []
 */
export function cChart(
  counts: readonly (number | null)[],
  options: AttributesChartOptions = {},
): Outcome<AttributesChart> {
  if (counts.length === 0) throw new StatisticsError('empty', 'counts', counts);
  counts.forEach((count, index) => {
    if (count !== null) requireCount(count, `counts.${index}`);
  });
  return attributesChart(
    cFamily,
    counts.map((count) => (count === null ? null : { count, size: 1 })),
    options,
  );
}

/**
 * One point of a live c chart; it needs no history.
 *
 * @param count     nonconformities in the sample; null for a missing sample.
 * @param settings  standard (given), multiple or falseAlarmProbability, as in cChart.
 * @returns         the point with index 0.
 * @throws          StatisticsError as cChart.
 *
 * Source: as cChart.
 *
 * @example
 * cPoint(29, { standard: 16 });
 * // value 29, limits.upperControlLimit 28, beyondLimits true
 */
export function cPoint(count: number | null, settings: AttributesSettings): ChartPoint<AttributesLimits> {
  if (count !== null) requireCount(count, 'count');
  if (settings.falseAlarmProbability !== undefined)
    requireBetween(settings.standard, 0, largestSizeOrMean, 'settings.standard');
  return attributesPoint(cFamily, count === null ? null : { count, size: 1 }, settings);
}

/**
 * c chart of a long series: which counts are beyond the limits, nothing allocated a point. The limits are the same for
 * all: those of cPoint.
 *
 * @param counts    as in cChart, none missing.
 * @param settings  standard (given), multiple or falseAlarmProbability, as in cChart.
 * @param columns   a column of the same length to fill again; absent: a new one.
 * @returns         beyondLimits: 0 inside, 1 above, 2 below, one entry a sample.
 * @throws          StatisticsError as cChart, `sizes-differ`.
 *
 * Source: as cChart.
 *
 * @example
 * cColumns(Float64Array.of(16, 29, 3), { standard: 16 });
 * // beyondLimits.0 0, beyondLimits.1 1, beyondLimits.2 2
 */
export function cColumns(
  counts: Float64Array,
  settings: AttributesSettings,
  columns?: BeyondColumns,
): BeyondColumns {
  const filled = beyondColumns(counts.length, columns, 'counts');
  const { limits } = cPoint(0, settings);
  flagCounts(counts, limits!, filled, 'counts');
  return filled;
}
