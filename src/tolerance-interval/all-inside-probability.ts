import { normalUpperTail } from '../numerics/normal.ts';

export interface FutureReadings {
  readonly sampleSize: number;
  readonly futureCount: number;
  readonly degreesOfFreedom: number;
  readonly twoSided: boolean;
}

/**
 * Probability that all future readings lie within mean ± factor · s (or below mean + factor · s) of a past sample, as a
 * function of the factor.
 *
 * The mean over the past mean (normal) and the past standard deviation (w = √(χ²/ν), in ln w) of the probability for one
 * reading to the power of their number. Both densities are smooth and fall off exponentially on both sides, so the plain
 * trapezoidal rule converges exponentially; its steps follow the width 1/z² and 1/z over which that power rises. Nodes
 * are fixed in ln(factor · w), so that the inner mean is computed once for all factors.
 */
export function allInsideProbability(future: FutureReadings): (factor: number) => number {
  const { degreesOfFreedom, futureCount } = future;
  const depth = 1 + 2 * Math.log(1 + futureCount);
  const step =
    0.4 * Math.min(1 / Math.sqrt(2 * degreesOfFreedom), Math.max(1 / depth, meanSpread(future)), 0.3);
  const known = new Map<number, number>();
  const insideOf = (halfWidth: number) => {
    let inside = known.get(halfWidth);
    if (inside === undefined) {
      inside = insideAt(halfWidth, future);
      known.set(halfWidth, inside);
    }
    return inside;
  };
  return (factor) => {
    if (factor === 0) return insideOf(0);
    const origin = Math.log(Math.abs(factor));
    const nearest = Math.round(origin / step);
    let mass = 0;
    let probability = 0;
    for (const direction of [1, -1]) {
      let vanished = false;
      for (let k = nearest + (direction === 1 ? 0 : -1); ; k += direction) {
        const y = k * step - origin;
        const exponent = degreesOfFreedom * (y - Math.expm1(2 * y) / 2);
        if (exponent < -42) break;
        const density = Math.exp(exponent);
        mass += density;
        if (vanished) continue;
        const inside = insideOf(Math.sign(factor) * Math.exp(k * step));
        probability += density * inside;
        // From here on the half-width moves on the way on which the power only falls.
        vanished = inside < 1e-18 && direction === -Math.sign(factor);
      }
    }
    return probability / mass;
  };
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
