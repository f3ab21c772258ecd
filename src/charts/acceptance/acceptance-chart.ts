import { requireFinite } from '../../checks.ts';
import type { Subgroup, SubgroupStatistics } from '../../samples/subgroup.ts';
import { subgroupStatistics } from '../../samples/subgroup-statistics.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult, ControlLimits } from '../control-chart.ts';
import { statisticsOfSubgroups } from '../variables/chart-pair.ts';
import {
  type AcceptanceBasis,
  acceptanceLines,
  requireAcceptanceRule,
  requireSampleSize,
} from './acceptance-limits.ts';

/**
 * Acceptance control chart of subgroup means: a signal says that the level is no longer acceptable for the specification.
 * It holds only while the spread inside the subgroups is in control, so keep a range or standard deviation chart beside it.
 * The chart advises; people release parts.
 *
 * @param subgroups  in time order, one unit; null marks a missing reading. Limits follow each subgroup's size.
 * @param plan       from acceptancePlan.
 * @returns          means with the acceptance control limits of their size, in the unit of the readings; limits null where
 *                   a subgroup is empty, or so small that its limits would be reversed.
 * @throws           StatisticsError `empty`, `not-finite` (names the reading), `out-of-range`, `not-an-integer`,
 *                   `no-limits`, `limits-reversed`, `unknown-name` (name the field of the plan).
 *
 * Source: ISO 7870-3.
 *
 * @example
 * const plan = acceptancePlan({ lowerSpecificationLimit: null, upperSpecificationLimit: 10 }, {
 *   withinSubgroupStandardDeviation: 0.5, acceptable: { upper: 8 }, rejectable: { upper: 9 },
 * });
 * acceptanceChart([[8.1, 7.9, 8.6], [8.9, 9.2, 9.0]], plan);
 * // points[0].limits.upperControlLimit 8.47…, points[0].limits.lowerControlLimit null, signals [1]
 */
export function acceptanceChart(
  subgroups: readonly Subgroup[],
  plan: AcceptanceBasis,
): ChartResult<AcceptanceBasis, ControlLimits> {
  requirePlan(plan);
  const points = statisticsOfSubgroups(subgroups, 'subgroups').map((statistics, index) =>
    pointOf(index, statistics, plan),
  );
  const { withinSubgroupStandardDeviation, lower, upper, alpha, beta, limitsFrom, sampleSize, centerLine } =
    plan;
  return {
    statistic: 'mean',
    points,
    basis: { withinSubgroupStandardDeviation, lower, upper, alpha, beta, limitsFrom, sampleSize, centerLine },
    signals: signalsOf(points),
  };
}

/**
 * Judges one subgroup by an acceptance plan, while the process runs.
 *
 * @param subgroup  readings, null for a missing one; may be empty.
 * @param plan      from acceptancePlan.
 * @returns         the point with the limits of its size; index 0.
 * @throws          StatisticsError as acceptanceChart.
 *
 * Source: ISO 7870-3.
 *
 * @example
 * const plan = acceptancePlan({ lowerSpecificationLimit: null, upperSpecificationLimit: 10 }, {
 *   withinSubgroupStandardDeviation: 0.5, acceptable: { upper: 8 }, rejectable: { upper: 9 },
 * });
 * acceptancePoint([8.9, 9.2, 9.0], plan);
 * // value 9.03…, beyondLimits true
 */
export function acceptancePoint(subgroup: Subgroup, plan: AcceptanceBasis): ChartPoint<ControlLimits> {
  requirePlan(plan);
  return pointOf(0, subgroupStatistics(subgroup), plan);
}

/** A plan that may have travelled is checked before it is used. */
export function requirePlan(plan: AcceptanceBasis): void {
  requireAcceptanceRule(plan, 'plan');
  requireSampleSize(plan.sampleSize, 'plan.sampleSize');
  requireFinite(plan.centerLine, 'plan.centerLine');
}

/** Limits for means of this many readings; null where they would be reversed. */
export function acceptanceControlLimits(plan: AcceptanceBasis, size: number): ControlLimits | null {
  const { lower, upper } = acceptanceLines(plan, size);
  if (lower !== null && upper !== null && lower >= upper) return null;
  return {
    centerLine: plan.centerLine,
    lowerControlLimit: lower,
    upperControlLimit: upper,
    standardDeviation: plan.withinSubgroupStandardDeviation / Math.sqrt(size),
  };
}

function pointOf(
  index: number,
  { size, mean }: SubgroupStatistics,
  plan: AcceptanceBasis,
): ChartPoint<ControlLimits> {
  return chartPoint(index, mean, size, size === 0 ? null : acceptanceControlLimits(plan, size));
}
