import { requireFinite } from '../../checks.ts';
import {
  type AcceptanceBasis,
  acceptanceLines,
  probabilities,
  requireAcceptanceRule,
  requireSampleSize,
} from './acceptance-limits.ts';

/**
 * Operating characteristic of an acceptance control chart: probability that a subgroup mean lies on or inside the limits
 * while the process mean is at a given level.
 *
 * @param level  process mean, in the unit of the characteristic.
 * @param plan   from acceptancePlan.
 * @returns      probability, 0 … 1, with an absolute error below 1e-14.
 * @throws       StatisticsError `not-finite`, `out-of-range`, `not-an-integer`, `no-limits`, `limits-reversed`,
 *               `unknown-name` (name the field).
 *
 * Source: ISO 7870-3, operating characteristic.
 *
 * @example
 * const plan = acceptancePlan({ lowerSpecificationLimit: null, upperSpecificationLimit: 10 }, {
 *   withinSubgroupStandardDeviation: 0.5, acceptable: { upper: 8 }, rejectable: { upper: 9 },
 * });
 * acceptanceProbability(8, plan);
 * // 0.94999…
 */
export function acceptanceProbability(level: number, plan: AcceptanceBasis): number {
  requireFinite(level, 'level');
  requireAcceptanceRule(plan, 'plan');
  requireSampleSize(plan.sampleSize, 'plan.sampleSize');
  return probabilities(
    level,
    acceptanceLines(plan, plan.sampleSize),
    plan.withinSubgroupStandardDeviation / Math.sqrt(plan.sampleSize),
  ).inside;
}
