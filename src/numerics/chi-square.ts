import { gammaLowerTail, gammaQuantile, gammaUpperTail } from './gamma.ts';

/**
 * Quantile of the chi-square distribution for a lower-tail probability in (0, 1) and any degrees of freedom > 0;
 * relative error about 1e-13, above ½ as good as 1 − probability is known.
 */
export function chiSquareQuantile(probability: number, degreesOfFreedom: number): number {
  return 2 * gammaQuantile(probability, degreesOfFreedom / 2);
}

/** P(χ² > value) for a value ≥ 0, with a relative error of about 1e-13. */
export function chiSquareUpperTail(value: number, degreesOfFreedom: number): number {
  return gammaUpperTail(value / 2, degreesOfFreedom / 2);
}

/** P(χ² ≤ value), as accurate as chiSquareUpperTail. */
export function chiSquareLowerTail(value: number, degreesOfFreedom: number): number {
  return gammaLowerTail(value / 2, degreesOfFreedom / 2);
}
