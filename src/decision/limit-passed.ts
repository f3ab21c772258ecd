/** What the drawing allows; null where a side has no limit. */
interface Drawing {
  readonly lowerSpecificationLimit: number | null;
  readonly upperSpecificationLimit: number | null;
}

/**
 * The specification limit that a value has passed, in the unit of both; null where the value is inside. A value on
 * the limit is inside.
 *
 * @example
 * limitPassed(191.9, { lowerSpecificationLimit: 189.5, upperSpecificationLimit: 191.5 });
 * // { side: 'above', limit: 191.5 }
 */
export function limitPassed(
  value: number,
  { lowerSpecificationLimit: lower, upperSpecificationLimit: upper }: Drawing,
): { readonly side: 'below' | 'above'; readonly limit: number } | null {
  if (lower !== null && value < lower) return { side: 'below', limit: lower };
  if (upper !== null && value > upper) return { side: 'above', limit: upper };
  return null;
}
