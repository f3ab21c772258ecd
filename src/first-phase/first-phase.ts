import type { ChartKind, ChartPair, ProcessStandard } from '../charts/control-chart.ts';
import type { SubgroupChartOptions } from '../charts/variables/chart-pair.ts';
import { individualsAndMovingRangeChart } from '../charts/variables/individuals-and-moving-range-chart.ts';
import { meanAndRangeChart } from '../charts/variables/mean-and-range-chart.ts';
import { meanAndStandardDeviationChart } from '../charts/variables/mean-and-standard-deviation-chart.ts';
import { requireName, requireSameLength } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import type { Subgroup } from '../samples/subgroup.ts';
import { type ExclusionReason, type FirstPhase, iterateTrialLimits } from './trial-limits.ts';

export interface FirstPhaseOptions extends Omit<SubgroupChartOptions, 'standard'> {
  readonly chart: ChartKind;
  /** What a person found out about single subgroups. Default none. */
  readonly reasons?: readonly ExclusionReason[];
  /** Values in one moving range, 2 … 100, for individuals. Default 2. */
  readonly movingRangeSpan?: number;
}

/**
 * First phase: control limits from a baseline, without what does not belong to the process.
 *
 * Trial limits are drawn from all subgroups. A subgroup outside them is left out only where a person has given a reason;
 * then the limits are drawn anew, round after round, until nothing more is left out. What lies outside without a reason stays in and
 * is listed; a reason for a subgroup that never lay outside is listed too, and the subgroup stays in. Nothing is dropped
 * silently: every round is returned. A moving range concerns all values in it: those with a reason are left out.
 *
 * @param subgroups  in time order, one unit, null for a missing reading; for individuals one reading each.
 * @param options    chart; reasons; method, multiple, natural bounds, span as in the chart's own function.
 * @returns          rounds, final standard and chart (subgroups left out are gaps), and what to do next; Unavailable as
 *                   in estimateStandard, also where too little is left.
 * @throws           StatisticsError `empty` (subgroups; a reason without words), `not-finite`, `out-of-range` (two reasons for one
 *                   subgroup too), `not-an-integer`, `unknown-name`, `sizes-differ` (individuals with several readings).
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, section 6.2.1 (trial control limits); ISO 7870-2.
 *
 * @example
 * const subgroups = [[10, 10.2], [10.1, 9.9], [10, 10.1], [13, 13.1], [9.9, 10], [10.1, 10.2]];
 * firstPhase(subgroups, { chart: 'mean-range', reasons: [{ index: 3, reason: 'wrong coil' }] });
 * // available, stable true, rounds[0].excluded[0].reason "wrong coil", standard.mean 10.05
 */
export function firstPhase(
  subgroups: readonly Subgroup[],
  options: FirstPhaseOptions,
): Outcome<FirstPhase<ProcessStandard, ChartPair>> {
  const { chart, reasons = [], movingRangeSpan = 2, method, ...others } = options;
  requireName(chart, ['mean-range', 'mean-standard-deviation', 'individuals-moving-range'], 'options.chart');
  if (subgroups.length === 0) throw new StatisticsError('empty', 'subgroups', subgroups);
  const individuals = chart === 'individuals-moving-range';
  if (individuals)
    subgroups.forEach((subgroup, index) => {
      requireSameLength(subgroup.length, 1, `subgroups.${index}`, 'a chart of individuals');
    });
  const settings = { ...others, ...(method === undefined ? {} : { method }) };
  return iterateTrialLimits(
    subgroups.length,
    reasons,
    (isExcluded) => {
      const left = subgroups.map((subgroup, index): Subgroup => (isExcluded(index) ? [] : subgroup));
      const pair = individuals
        ? individualsAndMovingRangeChart(
            left.map((subgroup) => subgroup[0] ?? null),
            { ...others, movingRangeSpan },
          )
        : chart === 'mean-range'
          ? meanAndRangeChart(left, settings)
          : meanAndStandardDeviationChart(left, settings);
      if (!pair.available) return pair;
      const { available, ...drawn } = pair;
      return {
        available,
        standard: drawn.standard,
        samplesUsed: drawn.subgroupsUsed,
        chart: drawn,
        charts: [drawn.location, drawn.spread],
      };
    },
    ({ index, chart: statistic }) =>
      statistic === 'moving range'
        ? Array.from({ length: movingRangeSpan }, (_, place) => index - movingRangeSpan + 1 + place)
        : [index],
  );
}
