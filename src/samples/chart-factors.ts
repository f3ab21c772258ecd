import { StatisticsError } from '../errors.ts';
import { rangeMoments } from './range-moments.ts';
import { unbiasingFactor } from './unbiasing-factor.ts';

/** Factors of control charts for variables, by the names that the published tables use. All dimensionless. */
export interface ChartFactors {
  /** Mean and standard deviation of the range, and mean of the sample standard deviation, at unit variance. */
  readonly d2: number;
  readonly d3: number;
  readonly c4: number;
  /** Half-width of the limits for means, from the standard deviation, the average range, the average s. */
  readonly A: number;
  readonly A2: number;
  readonly A3: number;
  /** Limits for s: B3, B4 times the average s; B5, B6 times the standard deviation. */
  readonly B3: number;
  readonly B4: number;
  readonly B5: number;
  readonly B6: number;
  /** Limits for the range: D1, D2 times the standard deviation; D3, D4 times the average range. */
  readonly D1: number;
  readonly D2: number;
  readonly D3: number;
  readonly D4: number;
}

/**
 * Factors for subgroups of n readings, computed rather than looked up.
 *
 * @param n        readings of a subgroup, 2 … 100.
 * @param options  multiple: standard deviations between center line and limit, > 0 (default 3).
 * @returns        the fourteen factors; B3, B5, D1, D3 are 0 where a lower limit would be negative.
 *                 Relative error below 1e-11.
 * @throws         StatisticsError `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 7870-2, control charts for variables; Montgomery, Introduction to Statistical Quality Control,
 * appendix VI.
 *
 * @example
 * chartFactors(5);
 * // d2 2.3259…, A2 0.5768…, D4 2.1144…
 */
export function chartFactors(n: number, { multiple = 3 }: { readonly multiple?: number } = {}): ChartFactors {
  if (!(multiple > 0 && multiple < Infinity))
    throw new StatisticsError('out-of-range', 'multiple', multiple, 'It must be a finite number above 0.');
  const { d2, d3 } = rangeMoments(n);
  const c4 = unbiasingFactor(n);
  const A = multiple / Math.sqrt(n);
  const spread = multiple * Math.sqrt(1 - c4 * c4);
  return {
    d2,
    d3,
    c4,
    A,
    A2: A / d2,
    A3: A / c4,
    B3: Math.max(0, 1 - spread / c4),
    B4: 1 + spread / c4,
    B5: Math.max(0, c4 - spread),
    B6: c4 + spread,
    D1: Math.max(0, d2 - multiple * d3),
    D2: d2 + multiple * d3,
    D3: Math.max(0, 1 - (multiple * d3) / d2),
    D4: 1 + (multiple * d3) / d2,
  };
}
