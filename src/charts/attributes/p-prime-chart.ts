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
import { pFamily } from './p-chart.ts';

/**
 * p′ chart: a p chart for large samples of a process whose level moves a little from sample to sample, where the
 * plain limits are too narrow and call almost every sample a signal (or, for regulated samples, too wide).
 *
 * The standardised values zᵢ = (value − center line)/sᵢ, sᵢ the standard deviation that binomial counts would have, are
 * looked at as individuals: σ_z = average moving range of neighbours/d2(2). Limits: center line ± k sᵢ σ_z. countDispersion
 * tells whether the data ask for it: where they do not, the plain chart is sharper.
 *
 * @param samples  in time order: count of nonconforming parts and size (parts inspected); null for a missing sample, across which no moving range is formed.
 * @param options  standard: proportion nonconforming (0 … 1), and zStandardDeviation: given, or absent to
 *                 estimate them; multiple (default 3).
 * @returns        points with limits for each size, dimensionless; a lower limit at or below 0, and an upper one at or above 1, does
 *                 not exist (null). Unavailable `too-few-values` without a sample or two neighbours, `no-variation` where
 *                 all are alike.
 * @throws         StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: Laney, Improved control charts for attributes, Quality Engineering 14(4), 2002.
 *
 * @example
 * pPrimeChart([{ count: 128, size: 6500 }, { count: 113, size: 8000 }, { count: 242, size: 9900 }], {});
 * // available, basis.standard 0.0197…, basis.zStandardDeviation 4.671…, signals []
 */
export function pPrimeChart(
  samples: readonly (CountSample | null)[],
  options: LaneyChartOptions = {},
): Outcome<LaneyChart> {
  return laneyChart(pFamily, samples, options);
}

/**
 * One point of a live p′ chart; it needs no history.
 *
 * @param sample    as in pPrimeChart; null for a missing sample.
 * @param settings  standard and zStandardDeviation (given), multiple.
 * @returns         the point with index 0.
 * @throws          StatisticsError as pPrimeChart.
 *
 * Source: as pPrimeChart.
 *
 * @example
 * pPrimePoint({ count: 128, size: 6400 }, { standard: 0.02, zStandardDeviation: 4 });
 * // value 0.02, limits.standardDeviation 0.007, limits.upperControlLimit 0.041
 */
export function pPrimePoint(
  sample: CountSample | null,
  settings: LaneySettings,
): ChartPoint<AttributesLimits> {
  return laneyPoint(pFamily, sample, settings);
}

/**
 * p′ chart of a long series in columns, nothing allocated a point.
 *
 * @param counts    as in pPrimeChart, none missing.
 * @param sizes     as many.
 * @param settings  standard and zStandardDeviation (given), multiple.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         values, limits and signals. A limit that does not exist stands at its natural bound, 0 or 1.
 * @throws          StatisticsError as pPrimeChart, `sizes-differ`.
 *
 * Source: as pPrimeChart.
 *
 * @example
 * pPrimeColumns(Float64Array.of(64, 320), Float64Array.of(6400, 6400), { standard: 0.02, zStandardDeviation: 4 });
 * // values.0 0.01, lowerControlLimits.0 0, beyondLimits.1 1
 */
export function pPrimeColumns(
  counts: Float64Array,
  sizes: Float64Array,
  settings: LaneySettings,
  columns?: ChartColumns,
): ChartColumns {
  return laneyColumns(pFamily, counts, sizes, settings, columns);
}
