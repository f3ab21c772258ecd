import { newtonRoot } from '../numerics/newton-root.ts';
import { momentsOf } from './moments-of.ts';
import { type PowerCurve, powerCurve } from './power-curve.ts';

/**
 * The power λ whose profile likelihood, that of a normal distribution of the powers with its mean and variance
 * following, is largest: by Newton steps on its slope. Values come as logarithms: a power of x is
 * ln x · (exp(λ ln x) − 1)/(λ ln x). Where `mirrored`, entries below 0 stand for values below 0, whose power is 2 − λ.
 *
 * @param logs    ln of what is raised, with the sign of the value where `mirrored`.
 * @param weight  what the logarithm of the slope dy/dx adds to the log-likelihood per value and λ.
 * @returns       null where the likelihood has no peak among the powers that can be computed with.
 */
export function likeliestPower(logs: Float64Array, weight: number, mirrored = false): number | null {
  const n = logs.length;
  let largest = 0;
  for (let index = 0; index < n; index++) largest = Math.max(largest, Math.abs(logs[index]!));
  const curve: PowerCurve = { value: 0, first: 0, second: 0 };
  const powers = new Float64Array(n);
  const firsts = new Float64Array(n);
  const seconds = new Float64Array(n);
  /** Slope of the half logarithm of the variance, less that of the Jacobian: 0 at the peak. */
  const slopeAt = (lambda: number) => {
    for (let index = 0; index < n; index++) {
      const log = logs[index]!;
      const below = mirrored && log < 0;
      const size = below ? -log : log;
      powerCurve((below ? 2 - lambda : lambda) * size, curve);
      powers[index] = (below ? -size : size) * curve.value;
      firsts[index] = size * size * curve.first;
      seconds[index] = (below ? -1 : 1) * size * size * size * curve.second;
    }
    return varianceSlope(powers, firsts, seconds, weight);
  };
  const reach = 300 / largest;
  const spread = momentsOf(logs).rootMeanSquare;
  const root = newtonRoot(
    (lambda) => slopeAt(Math.max(-reach, Math.min(reach, lambda))),
    mirrored ? 1 : 0,
    Math.min(reach / 4, 1 / spread),
  );
  return root === null || Math.abs(root) >= reach ? null : root;
}

/** d/dλ and d²/dλ² of half the logarithm of the variance of the powers; `weight` is taken off the first. */
function varianceSlope(
  powers: Float64Array,
  firsts: Float64Array,
  seconds: Float64Array,
  weight: number,
): { value: number; slope: number } {
  const n = powers.length;
  let meanPower = 0;
  let meanFirst = 0;
  for (let index = 0; index < n; index++) {
    meanPower += powers[index]! / n;
    meanFirst += firsts[index]! / n;
  }
  let variance = 0;
  let cross = 0;
  let bend = 0;
  for (let index = 0; index < n; index++) {
    const power = powers[index]! - meanPower;
    const first = firsts[index]! - meanFirst;
    variance += power * power;
    cross += power * first;
    bend += first * first + power * seconds[index]!;
  }
  const ratio = cross / variance;
  return { value: ratio - weight, slope: bend / variance - 2 * ratio * ratio };
}
