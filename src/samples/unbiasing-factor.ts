import { StatisticsError } from '../errors.ts';
import { halfStepGammaRatio } from '../numerics/gamma-ratio.ts';

const known: (number | undefined)[] = [];

/**
 * c4(n) = √(2/(n − 1)) · Γ(n/2)/Γ((n − 1)/2): the expected sample standard deviation (divisor n − 1) of n
 * independent normal values, as a fraction of the true one. Dimensionless, n ≥ 2.
 *
 * @param argument  what the caller calls n, for errors.
 * @throws StatisticsError `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 7870-2, annex on factors; Montgomery, Introduction to Statistical Quality Control, appendix VI.
 */
export function unbiasingFactor(n: number, argument = 'n'): number {
  const remembered = known[n];
  if (remembered !== undefined) return remembered;
  if (!Number.isInteger(n)) throw new StatisticsError('not-an-integer', argument, n);
  if (n < 2)
    throw new StatisticsError('out-of-range', argument, n, 'A standard deviation needs at least 2 readings.');
  const c4 = Math.sqrt(2 / (n - 1)) * halfStepGammaRatio(n);
  if (n <= 1000) known[n] = c4;
  return c4;
}
