import { requireFinite } from '../checks.ts';
import { StatisticsError } from '../errors.ts';

/** What the drawing allows; null where a side has no limit. */
interface Drawing {
  readonly lowerSpecificationLimit: number | null;
  readonly upperSpecificationLimit: number | null;
}

/**
 * The specification limit that a value has passed, in the unit of both; null where the value is inside. A value on
 * the limit is inside.
 *
 * @throws StatisticsError `not-finite` (names the field), `limits-reversed`.
 *
 * Source: common practice, no source.
 *
 * @example
 * limitPassed(191.9, { lowerSpecificationLimit: 189.5, upperSpecificationLimit: 191.5 });
 * // { side: 'above', limit: 191.5 }
 */
export function limitPassed(
  value: number,
  { lowerSpecificationLimit: lower, upperSpecificationLimit: upper }: Drawing,
): { readonly side: 'below' | 'above'; readonly limit: number } | null {
  requireFinite(value, 'value');
  if (lower !== null) requireFinite(lower, 'lowerSpecificationLimit');
  if (upper !== null) requireFinite(upper, 'upperSpecificationLimit');
  if (lower !== null && upper !== null && !(lower < upper))
    throw new StatisticsError('limits-reversed', 'upperSpecificationLimit', upper);
  if (lower !== null && value < lower) return { side: 'below', limit: lower };
  if (upper !== null && value > upper) return { side: 'above', limit: upper };
  return null;
}
