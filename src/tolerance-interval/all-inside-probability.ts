import { normalUpperTail } from '../numerics/normal.ts';

export interface FutureReadings {
  readonly sampleSize: number;
  readonly futureCount: number;
  readonly degreesOfFreedom: number;
  readonly twoSided: boolean;
}

/**
 * Probability that all future readings lie within mean ± factor · s (or below mean + factor · s) of a past sample.
 *
 * The mean over the past mean (normal) and the past standard deviation (w = √(χ²/ν), in y = ln w) of the probability for
 * one reading to the power of their number. Both densities are smooth and fall off exponentially on both sides, so the
 * plain trapezoidal rule converges exponentially; its steps follow the width 1/z² and 1/z over which that power rises.
 */
export function allInsideProbability(factor: number, future: FutureReadings): number {
  const { degreesOfFreedom, futureCount } = future;
  const depth = 1 + 2 * Math.log(1 + futureCount);
  const step =
    0.4 * Math.min(1 / Math.sqrt(2 * degreesOfFreedom), Math.max(1 / depth, meanSpread(future)), 0.3);
  let mass = 0;
  let probability = 0;
  for (const direction of [1, -1]) {
    let inside = 1;
    for (let k = direction === 1 ? 0 : 1; ; k++) {
      const y = direction * k * step;
      const exponent = degreesOfFreedom * (y - Math.expm1(2 * y) / 2);
      if (exponent < -42) break;
      const density = Math.exp(exponent);
      mass += density;
      // Downward the power only falls: once it is nothing it stays nothing. One-sided limits may end at ½ of it.
      if (inside > 1e-18 || direction === 1) inside = insideAt(factor * Math.exp(y), future);
      probability += density * inside;
    }
  }
  return probability / mass;
}

/** The offset of the mean blurs the rise of the power by this much, relative to the half-width. */
function meanSpread({ sampleSize, futureCount }: FutureReadings): number {
  return 0.5 / Math.sqrt(sampleSize * (1 + 2 * Math.log(1 + futureCount)));
}

function insideAt(halfWidth: number, { sampleSize, futureCount, twoSided }: FutureReadings): number {
  const root = Math.sqrt(sampleSize);
  const step = Math.min(0.5, (0.4 * root) / Math.sqrt(1 + 2 * Math.log(1 + futureCount)));
  let mass = 0;
  let sum = 0;
  for (let z = -8.5; z <= 8.5; z += step) {
    const density = Math.exp((-z * z) / 2);
    const offset = z / root;
    const outside =
      normalUpperTail(halfWidth + offset) + (twoSided ? normalUpperTail(halfWidth - offset) : 0);
    mass += density;
    sum += density * Math.exp(futureCount * Math.log1p(-Math.min(1, outside)));
  }
  return sum / mass;
}
