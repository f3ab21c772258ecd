import type { Outcome } from '../../errors.ts';
import type { Subgroup } from '../../samples/subgroup.ts';
import { unbiasingFactor } from '../../samples/unbiasing-factor.ts';
import type { ChartPair } from '../control-chart.ts';
import { chartBasis, chartPair, type SubgroupChartOptions, statisticsOfSubgroups } from './chart-pair.ts';
import { pointLimits } from './point-limits.ts';

export interface MeanAndStandardDeviationChartOptions extends SubgroupChartOptions {
  /**
   * Center line of the s chart where sizes differ: 'expected' is c4(n)·σ at each point; 'pooled' is the pooled
   * standard deviation for every subgroup, with limits B3(n), B4(n) times it, and A3(n) times it for means. 'pooled'
   * takes method 'pooled' and no given standard. Default 'expected'.
   */
  readonly spreadCenterLine?: 'expected' | 'pooled';
}

/**
 * X̄ and s charts of a series of subgroups.
 *
 * @param subgroups  in time order, one unit; sizes may differ, null marks a missing reading. Limits follow each
 *                   subgroup's size.
 * @param options    given standard, or how to estimate it (method default 'standard-deviation'); center line of the
 *                   s chart; multiple; natural bounds.
 * @returns          both charts with limits at each point, in the unit of the readings; a subgroup without a reading
 *                   has no mean, with one reading no standard deviation. Unavailable as in estimateStandard.
 * @throws           StatisticsError `empty` (subgroups), `not-finite` (names the reading), `out-of-range`,
 *                   `unknown-name`, `limits-reversed`.
 *
 * Source: ISO 7870-2; Montgomery, Introduction to Statistical Quality Control, section 6.3 (6.3.2 for 'pooled').
 *
 * @example
 * meanAndStandardDeviationChart([[10.1, 10.3, 10.2], [10.2, 10.0, 10.4]], { method: 'pooled-unbiased' });
 * // available, standard.withinSubgroupStandardDeviation 0.1682…, spread.points[0].limits.centerLine 0.1490…
 */
export function meanAndStandardDeviationChart(
  subgroups: readonly Subgroup[],
  options: MeanAndStandardDeviationChartOptions = {},
): Outcome<ChartPair> {
  const statistics = statisticsOfSubgroups(subgroups, 'subgroups');
  const pooledCenterLine = options.spreadCenterLine === 'pooled' && options.standard === undefined;
  const method = pooledCenterLine ? 'pooled' : (options.method ?? 'standard-deviation');
  const { meanLimitsFrom = 'within-subgroup' } = options;
  const basis = chartBasis(statistics, options.standard, { method, meanLimitsFrom });
  if (!basis.available) return basis;
  const { standard } = basis;
  return chartPair(
    'mean-standard-deviation',
    basis,
    statistics,
    (index) => ({ value: statistics[index]!.standardDeviation, size: statistics[index]!.size }),
    (size) => {
      // A center line at s itself is c4(n)·σ with σ = s/c4(n); A3, B3 and B4 follow from the same σ.
      const withinSubgroupStandardDeviation =
        pooledCenterLine && size >= 2
          ? standard.withinSubgroupStandardDeviation / unbiasingFactor(size)
          : standard.withinSubgroupStandardDeviation;
      return pointLimits(
        'mean-standard-deviation',
        { ...standard, withinSubgroupStandardDeviation },
        size,
        options,
      );
    },
  );
}
