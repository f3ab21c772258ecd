import { betaLowerTail, betaUpperTail } from './beta.ts';
import { deviance } from './deviance.ts';
import { stirlingError } from './log-gamma.ts';

/**
 * P(X ≥ count) for X binomial with `trials` ≥ 1 and probability in (0, 1); `count` is any whole number. Relative error
 * about 1e-13, also in far tails. Source: Abramowitz and Stegun, 26.5.24 (by the incomplete beta function).
 */
export function binomialUpperTail(count: number, trials: number, probability: number): number {
  if (count <= 0) return 1;
  return count > trials ? 0 : betaLowerTail(probability, count, trials - count + 1);
}

/** P(X ≤ count), as accurate as binomialUpperTail. */
export function binomialLowerTail(count: number, trials: number, probability: number): number {
  if (count >= trials) return 1;
  return count < 0 ? 0 : betaUpperTail(probability, count + 1, trials - count);
}

/**
 * P(X = count) for `count` from 0 to `trials`.
 *
 * Source: saddle-point expansion of C. Loader, Fast and accurate computation of binomial probabilities (2000;
 * cited from memory), which needs no factorial and so neither overflows nor cancels.
 */
export function binomialProbability(count: number, trials: number, probability: number): number {
  const rest = trials - count;
  if (count === 0) return Math.exp(trials * Math.log1p(-probability));
  if (rest === 0) return probability ** trials;
  const exponent =
    stirlingError(trials) -
    stirlingError(count) -
    stirlingError(rest) -
    deviance(count, trials * probability) -
    deviance(rest, trials * (1 - probability));
  return Math.sqrt(trials / (2 * Math.PI * count * rest)) * Math.exp(exponent);
}
