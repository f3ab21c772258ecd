import type { Outcome } from '../../errors.ts';
import type { ChartColumns } from '../chart-columns.ts';
import type { ChartPoint } from '../control-chart.ts';
import type { AttributesLimits } from './attributes-family.ts';
import type { CountSample } from './count-sample.ts';
import {
  type LaneyChart,
  type LaneyChartOptions,
  type LaneySettings,
  laneyChart,
  laneyColumns,
  laneyPoint,
} from './laney.ts';
import { uFamily } from './u-chart.ts';

/**
 * u′ chart: a u chart for large samples of a process whose level moves a little from sample to sample, where the
 * plain limits are too narrow and call almost every sample a signal (or, for regulated samples, too wide).
 *
 * The standardised values zᵢ = (value − center line)/sᵢ, sᵢ the standard deviation that Poisson counts would have, are
 * looked at as individuals: σ_z = average moving range of neighbours/d2(2). Limits: center line ± k sᵢ σ_z. countDispersion
 * tells whether the data ask for it: where they do not, the plain chart is sharper.
 *
 * @param samples  in time order: count of nonconformities and size (units, any number from 1e-100 to 1e100); null for a missing sample, across which no moving range is formed.
 * @param options  standard: nonconformities per unit (0 … 1e100), and zStandardDeviation: given, or absent to
 *                 estimate them; multiple (default 3).
 * @returns        points with limits for each size, in nonconformities per unit; a lower limit at or below 0 does
 *                 not exist (null). Unavailable `too-few-values` without a sample or two neighbours, `no-variation` where
 *                 all are alike.
 * @throws         StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: Laney, Improved control charts for attributes, Quality Engineering 14(4), 2002.
 *
 * @example
 * uPrimeChart([{ count: 115, size: 46 }, { count: 94, size: 31 }, { count: 64, size: 42 }], {});
 * // available, basis.standard 2.294…, signals []
 */
export function uPrimeChart(
  samples: readonly (CountSample | null)[],
  options: LaneyChartOptions = {},
): Outcome<LaneyChart> {
  return laneyChart(uFamily, samples, options);
}

/**
 * One point of a live u′ chart; it needs no history.
 *
 * @param sample    as in uPrimeChart; null for a missing sample.
 * @param settings  standard and zStandardDeviation (given), multiple.
 * @returns         the point with index 0.
 * @throws          StatisticsError as uPrimeChart.
 *
 * Source: as uPrimeChart.
 *
 * @example
 * uPrimePoint({ count: 90, size: 36 }, { standard: 2.25, zStandardDeviation: 2 });
 * // value 2.5, limits.standardDeviation 0.5, limits.upperControlLimit 3.75
 */
export function uPrimePoint(
  sample: CountSample | null,
  settings: LaneySettings,
): ChartPoint<AttributesLimits> {
  return laneyPoint(uFamily, sample, settings);
}

/**
 * u′ chart of a long series in columns, nothing allocated a point.
 *
 * @param counts    as in uPrimeChart, none missing.
 * @param sizes     as many.
 * @param settings  standard and zStandardDeviation (given), multiple.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         values, limits and signals. A limit that does not exist stands at its natural bound, 0.
 * @throws          StatisticsError as uPrimeChart, `sizes-differ`.
 *
 * Source: as uPrimeChart.
 *
 * @example
 * uPrimeColumns(Float64Array.of(90, 144), Float64Array.of(36, 36), { standard: 2.25, zStandardDeviation: 2 });
 * // values.0 2.5, lowerControlLimits.0 0.75, beyondLimits.1 1
 */
export function uPrimeColumns(
  counts: Float64Array,
  sizes: Float64Array,
  settings: LaneySettings,
  columns?: ChartColumns,
): ChartColumns {
  return laneyColumns(uFamily, counts, sizes, settings, columns);
}
