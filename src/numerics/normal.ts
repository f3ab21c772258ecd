import { errorFunctionSeries, scaledComplementaryErrorFunction } from './error-function.ts';

/** Below this |z| the tail is ½ less a small part, so it is computed from the series of erf. */
const centre = 0.5;

/** exp(−z²/2) without the rounding of z², which would cost three of sixteen digits at z = 38. */
function gaussian(z: number): number {
  const rough = Math.round(z * 16) / 16;
  return Math.exp((-rough * rough) / 2) * Math.exp((-(z - rough) * (z + rough)) / 2);
}

/**
 * P(Z > z) of the standard normal distribution, with a relative error below 1e-14 out to z = 37, where the
 * result leaves the range of double precision.
 */
export function normalUpperTail(z: number): number {
  if (z < -centre) return 1 - normalUpperTail(-z);
  if (z < centre) return 0.5 - errorFunctionSeries(z / Math.SQRT2) / 2;
  if (z > 40) return 0;
  return (gaussian(z) * scaledComplementaryErrorFunction(z / Math.SQRT2)) / 2;
}

/** P(Z ≤ z), as accurate as normalUpperTail. */
export function normalLowerTail(z: number): number {
  return normalUpperTail(-z);
}

/** Natural logarithm of P(Z > z), finite for every finite |z| < 1e150. */
export function logNormalUpperTail(z: number): number {
  if (z < -centre) return Math.log1p(-normalUpperTail(-z));
  if (z < centre) return Math.log(normalUpperTail(z));
  return (-z * z) / 2 + Math.log(scaledComplementaryErrorFunction(z / Math.SQRT2) / 2);
}

/**
 * z with P(Z ≤ z) = probability, for a probability in (0, 1). Error below 1e-15 absolute and, for probabilities
 * up to 0.4, 1e-14 relative; above ½ as good as 1 − probability is known.
 *
 * Start: Abramowitz and Stegun 26.2.23 (error below 4.5e-4), then Newton on the logarithm of the tail, which is
 * nearly straight in z² and so converges from there in three steps.
 */
export function normalQuantile(probability: number): number {
  if (probability > 0.5) return -normalQuantile(1 - probability);
  const t = Math.sqrt(-2 * Math.log(probability));
  let z =
    t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
  const target = Math.log(probability);
  for (let step = 0; step < 4; step++) {
    const logTail = logNormalUpperTail(z);
    const logDensity = (-z * z) / 2 - Math.log(2 * Math.PI) / 2;
    z += (logTail - target) * Math.exp(logTail - logDensity);
  }
  return probability === 0.5 ? 0 : -z;
}
