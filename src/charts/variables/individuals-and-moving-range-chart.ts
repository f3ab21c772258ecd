import type { Outcome } from '../../errors.ts';
import { movingRanges } from '../../samples/moving-ranges.ts';
import { rangeMoments } from '../../samples/range-moments.ts';
import type { ChartPair } from '../control-chart.ts';
import { type ChartOptions, chartBasis, chartPair, statisticsOfSubgroups } from './chart-pair.ts';
import { pointLimits } from './point-limits.ts';

export interface IndividualsAndMovingRangeChartOptions extends ChartOptions {
  /** Values in one moving range, 2 … 100. Default 2. */
  readonly movingRangeSpan?: number;
}

/**
 * Individuals and moving range charts of a series of single values.
 *
 * @param values   in time order, one unit; null for a missing value, which leaves no moving range across it.
 * @param options  given standard, or none to estimate it from the average moving range; span; multiple; natural
 *                 bounds.
 * @returns        both charts with limits at each point, in the unit of the values. The first moving range stands
 *                 at index span − 1; `size` of a moving range is the span. Unavailable as in estimateStandard.
 * @throws         StatisticsError `empty` (values), `not-finite` (names the value), `out-of-range`,
 *                 `not-an-integer`, `limits-reversed`.
 *
 * Source: ISO 7870-2; NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2.
 *
 * @example
 * individualsAndMovingRangeChart([49.6, 47.6, 49.9, 51.3], {});
 * // available, location.points[0].limits.upperControlLimit 54.651…, spread.points[1].value 2
 */
export function individualsAndMovingRangeChart(
  values: readonly (number | null)[],
  options: IndividualsAndMovingRangeChartOptions = {},
): Outcome<ChartPair> {
  const { movingRangeSpan = 2 } = options;
  rangeMoments(movingRangeSpan, 'options.movingRangeSpan');
  const ranges = movingRanges(values, movingRangeSpan);
  const statistics = statisticsOfSubgroups(
    values.map((value) => [value]),
    'values',
  );
  const basis = chartBasis(statistics, options.standard, { method: 'moving-range', movingRangeSpan });
  if (!basis.available) return basis;
  return chartPair(
    'individuals-moving-range',
    basis,
    statistics,
    (index) => {
      const value = ranges[index]!;
      return { value, size: value === null ? 0 : movingRangeSpan };
    },
    (size) => pointLimits('individuals-moving-range', basis.standard, size, options),
  );
}
