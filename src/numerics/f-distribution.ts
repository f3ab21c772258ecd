import { ratioQuantile, ratioTail } from './beta.ts';
import { probabilityOn } from './known-tail.ts';

/**
 * P(F ≤ value) of Fisher's F distribution with degrees of freedom > 0 (numerator, denominator). Relative error about
 * 1e-13 in both tails, down to 1e-300 (tests/reference/distributions.json).
 *
 * Source: Abramowitz and Stegun, 26.6.2 (by the incomplete beta function).
 */
export function fLowerTail(value: number, numerator: number, denominator: number): number {
  return value <= 0 ? 0 : probabilityOn('lower', ratioTail(value, numerator / 2, denominator / 2));
}

/** P(F > value), as accurate as fLowerTail. */
export function fUpperTail(value: number, numerator: number, denominator: number): number {
  return value <= 0 ? 1 : probabilityOn('upper', ratioTail(value, numerator / 2, denominator / 2));
}

/** Value with P(F ≤ value) = probability, in (0, 1); above ½ as good as 1 − probability is known. */
export function fQuantile(probability: number, numerator: number, denominator: number): number {
  const [tail, side] =
    probability <= 0.5 ? ([probability, 'lower'] as const) : ([1 - probability, 'upper'] as const);
  return ratioQuantile(tail, side, numerator / 2, denominator / 2);
}
