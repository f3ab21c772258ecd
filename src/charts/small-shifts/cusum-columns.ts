import { requireSameLength } from '../../checks.ts';
import { type CusumSettings, cusumBasis } from './cusum-chart.ts';
import { requireReadings } from './time-weighted.ts';

/** One entry a point, filled by cusumColumns; may be passed in again to be reused. */
export interface CusumColumns {
  /** C⁺ ≥ 0. */
  readonly upper: Float64Array;
  /** −C⁻ ≤ 0, as plotted. */
  readonly lower: Float64Array;
  /** 0 where both sums are inside or on their limits, 1 where the upper, 2 where only the lower is beyond. */
  readonly beyondLimits: Uint8Array;
}

/**
 * Tabular CUSUM chart of a long series at once: the sums of cusumChart in columns, nothing allocated a point. The
 * limits are the same at every point: the decision interval above and below zero. The sum of a side that is not
 * watched is computed and never signals.
 *
 * @param values   single values or subgroup means of one size in time order, in one unit, none missing.
 * @param options  as in cusumChart.
 * @param columns  columns of the same length to fill again; absent: new ones.
 * @returns        the columns, in the unit of the values.
 * @throws         StatisticsError as cusumChart; `sizes-differ` where a column has another length.
 *
 * Source: ISO 7870-4; Montgomery, Introduction to Statistical Quality Control, section 9.1.
 *
 * @example
 * cusumColumns(new Float64Array([10.2, 12, 11.5, 12.5]), { target: 10, withinSubgroupStandardDeviation: 1, decisionInterval: 4 });
 * // upper.3 4.5, lower.3 0, beyondLimits.3 1
 */
export function cusumColumns(
  values: Float64Array,
  options: CusumSettings,
  columns?: CusumColumns,
): CusumColumns {
  const { target, referenceValue, decisionInterval, headStart, sides } = cusumBasis(options, 'options');
  const filled = columns ?? {
    upper: new Float64Array(values.length),
    lower: new Float64Array(values.length),
    beyondLimits: new Uint8Array(values.length),
  };
  for (const name of ['upper', 'lower', 'beyondLimits'] as const)
    requireSameLength(filled[name].length, values.length, `columns.${name}`, 'values');
  requireReadings(values, 'values');
  const { upper: uppers, lower: lowers, beyondLimits } = filled;
  const upperLimit = sides === 'lower' ? Number.POSITIVE_INFINITY : decisionInterval;
  const lowerLimit = sides === 'upper' ? Number.POSITIVE_INFINITY : decisionInterval;
  let upper = headStart;
  let lower = headStart;
  for (let index = 0; index < values.length; index++) {
    const value = values[index]!;
    // Math.max, for a branch on the sign of a sum is one that no processor guesses.
    upper = Math.max(0, upper + (value - target - referenceValue));
    lower = Math.max(0, lower + (target - value - referenceValue));
    uppers[index] = upper;
    lowers[index] = 0 - lower;
    beyondLimits[index] = upper > upperLimit ? 1 : lower > lowerLimit ? 2 : 0;
  }
  return filled;
}
