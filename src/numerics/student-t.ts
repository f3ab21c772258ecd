import { ratioQuantile, ratioTail } from './beta.ts';
import { probabilityOn } from './known-tail.ts';

/** Beyond this |t| its square leaves the range of numbers, and the tail is a plain power. */
const far = 1e140;

/**
 * P(T > t) of Student's t distribution for any degrees of freedom > 0. Relative error about 1e-13 in both tails, down
 * to 1e-300 (tests/reference/distributions.json). T² has an F distribution.
 *
 * Source: Abramowitz and Stegun, 26.7.1 and 26.6.2.
 */
export function studentTUpperTail(t: number, degreesOfFreedom: number): number {
  if (t < 0) return 1 - studentTUpperTail(-t, degreesOfFreedom);
  if (t === 0) return 0.5;
  if (t > far) return studentTUpperTail(far, degreesOfFreedom) * (t / far) ** -degreesOfFreedom;
  return probabilityOn('upper', ratioTail(t * t, 0.5, degreesOfFreedom / 2, (t - 1) * (t + 1))) / 2;
}

/** P(T ≤ t), as accurate as studentTUpperTail. */
export function studentTLowerTail(t: number, degreesOfFreedom: number): number {
  return studentTUpperTail(-t, degreesOfFreedom);
}

/** t with P(T ≤ t) = probability, in (0, 1); relative error about 1e-13, above ½ as good as 1 − probability is known. */
export function studentTQuantile(probability: number, degreesOfFreedom: number): number {
  if (probability > 0.5) return -studentTQuantile(1 - probability, degreesOfFreedom);
  if (probability === 0.5) return 0;
  const beyondFar = studentTUpperTail(far, degreesOfFreedom);
  if (probability < beyondFar) return -far * (beyondFar / probability) ** (1 / degreesOfFreedom);
  const square =
    probability > 0.25
      ? ratioQuantile(1 - 2 * probability, 'lower', 0.5, degreesOfFreedom / 2)
      : ratioQuantile(2 * probability, 'upper', 0.5, degreesOfFreedom / 2);
  return -Math.sqrt(square);
}
