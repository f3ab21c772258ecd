import { StatisticsError } from '../../errors.ts';
import { requireColumns } from '../require-columns.ts';
import { countSubgroups } from '../variables/count-subgroups.ts';
import { refuseReadings } from '../variables/fill-means-and-ranges.ts';
import { acceptanceControlLimits, requirePlan } from './acceptance-chart.ts';
import type { AcceptanceBasis } from './acceptance-limits.ts';

/** One entry a subgroup. */
export interface AcceptanceColumns {
  readonly means: Float64Array;
  /** 0 inside or on the limits, 1 above the upper, 2 below the lower acceptance control limit. */
  readonly beyondLimits: Uint8Array;
}

/**
 * Acceptance control chart of a long series at once: the numbers of acceptanceChart in columns; nothing is allocated a
 * point.
 *
 * @param readings  subgroup after subgroup of plan.sampleSize readings, one unit, none missing.
 * @param plan      from acceptancePlan; its limits hold for every subgroup.
 * @param columns   columns of an earlier call to fill again; absent: new ones.
 * @returns         the columns, in the unit of the readings.
 * @throws          StatisticsError as acceptanceChart; `sizes-differ` (readings, columns).
 *
 * Source: ISO 7870-3.
 *
 * @example
 * const plan = acceptancePlan({ lowerSpecificationLimit: null, upperSpecificationLimit: 10 }, {
 *   withinSubgroupStandardDeviation: 0.5, acceptable: { upper: 8 }, rejectable: { upper: 9 },
 * });
 * acceptanceColumns(Float64Array.of(8.1, 7.9, 8.6, 8.9, 9.2, 9.0), plan);
 * // means.0 8.19…, beyondLimits.0 0, beyondLimits.1 1
 */
export function acceptanceColumns(
  readings: Float64Array,
  plan: AcceptanceBasis,
  columns?: AcceptanceColumns,
): AcceptanceColumns {
  requirePlan(plan);
  const { sampleSize } = plan;
  const count = countSubgroups(readings, sampleSize);
  const limits = acceptanceControlLimits(plan, sampleSize);
  if (limits === null)
    throw new StatisticsError(
      'limits-reversed',
      'plan.sampleSize',
      sampleSize,
      'The limits for so few readings are reversed. Take larger subgroups.',
    );
  const { means, beyondLimits } = columns ?? {
    means: new Float64Array(count),
    beyondLimits: new Uint8Array(count),
  };
  requireColumns({ means, beyondLimits }, count, 'columns.', 'subgroups');
  const lower = limits.lowerControlLimit ?? -Infinity;
  const upper = limits.upperControlLimit ?? Infinity;
  for (let index = 0, place = 0; index < count; index++) {
    const origin = readings[place]!;
    let fromOrigin = 0;
    const end = place + sampleSize;
    for (place++; place < end; place++) fromOrigin += readings[place]! - origin;
    const mean = origin + fromOrigin / sampleSize;
    if (!(Math.abs(mean) < Infinity)) refuseReadings(readings, end - sampleSize, sampleSize);
    means[index] = mean;
    beyondLimits[index] = mean > upper ? 1 : mean < lower ? 2 : 0;
  }
  return { means, beyondLimits };
}
