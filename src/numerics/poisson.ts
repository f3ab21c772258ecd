import { deviance } from './deviance.ts';
import { gammaLowerTail, gammaUpperTail } from './gamma.ts';
import { stirlingError } from './log-gamma.ts';

/**
 * P(X ≤ count) for X Poisson with a mean > 0 and any count (whole; below 0 the answer is 0), with a relative error of
 * about 1e-13. Source: Abramowitz and Stegun, 26.4.21 (by the incomplete gamma function).
 */
export function poissonLowerTail(count: number, mean: number): number {
  return count < 0 ? 0 : gammaUpperTail(mean, count + 1);
}

/** P(X ≥ count), as accurate as poissonLowerTail. */
export function poissonUpperTail(count: number, mean: number): number {
  return count <= 0 ? 1 : gammaLowerTail(mean, count);
}

/**
 * P(X = count) for a whole count ≥ 0. Source: saddle-point expansion of C. Loader, Fast and accurate computation of
 * binomial probabilities (2000; cited from memory), which needs no factorial and so neither overflows nor cancels.
 */
export function poissonProbability(count: number, mean: number): number {
  if (count === 0) return Math.exp(-mean);
  return Math.exp(-stirlingError(count) - deviance(count, mean)) / Math.sqrt(2 * Math.PI * count);
}
