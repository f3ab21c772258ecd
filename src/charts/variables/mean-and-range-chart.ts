import type { Outcome } from '../../errors.ts';
import type { Subgroup } from '../../samples/subgroup.ts';
import type { ChartPair } from '../control-chart.ts';
import { chartBasis, chartPair, type SubgroupChartOptions, statisticsOfSubgroups } from './chart-pair.ts';
import { pointLimits } from './point-limits.ts';

/**
 * X̄ and R charts of a series of subgroups.
 *
 * @param subgroups  in time order, one unit; sizes 0 … 100 may differ, null marks a missing reading. Limits follow
 *                   each subgroup's size.
 * @param options    given standard, or how to estimate it (method default 'range'); multiple; natural bounds.
 * @returns          both charts with limits at each point, in the unit of the readings; a subgroup without a reading
 *                   has no mean, with one reading no range. Unavailable as in estimateStandard.
 * @throws           StatisticsError `empty` (subgroups), `not-finite` (names the reading), `out-of-range`,
 *                   `unknown-name`, `limits-reversed`.
 *
 * Source: ISO 7870-2; Montgomery, Introduction to Statistical Quality Control, chapter 6.
 *
 * @example
 * meanAndRangeChart([[10.1, 10.3], [10.2, 10.0], [10.4, 10.1]], {});
 * // available, location.points[0].limits.centerLine 10.183…
 */
export function meanAndRangeChart(
  subgroups: readonly Subgroup[],
  options: SubgroupChartOptions = {},
): Outcome<ChartPair> {
  const statistics = statisticsOfSubgroups(subgroups, 'subgroups');
  const { method = 'range', meanLimitsFrom = 'within-subgroup' } = options;
  const basis = chartBasis(statistics, options.standard, { method, meanLimitsFrom });
  if (!basis.available) return basis;
  return chartPair(
    'mean-range',
    basis,
    statistics,
    (index) => ({ value: statistics[index]!.range, size: statistics[index]!.size }),
    (size) => pointLimits('mean-range', basis.standard, size, options),
  );
}
