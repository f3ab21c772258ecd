import { families } from './families.ts';
import type { FittedDistribution } from './fitted-distribution.ts';

/**
 * Akaike's criterion of a fit with the correction for small samples: 2k − 2 ln L + 2k(k + 1)/(n − k − 1) for k fitted
 * parameters. null for n ≤ k + 1, where the correction has no value. Smaller is better.
 *
 * Source: C. M. Hurvich and C.-L. Tsai, Biometrika 76(2), 1989 (cited from memory).
 */
export function akaikeCorrected(fitted: FittedDistribution, powerIsGiven = false): number | null {
  const k = families[fitted.distribution].parameterCount - (powerIsGiven ? 1 : 0);
  const n = fitted.sampleSize;
  if (n <= k + 1) return null;
  return 2 * k - 2 * fitted.logLikelihood + (2 * k * (k + 1)) / (n - k - 1);
}
