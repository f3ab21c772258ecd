import { momentsOf } from './moments-of.ts';
import { type PowerCurve, powerCurve } from './power-curve.ts';

/**
 * Profile log-likelihood of a power, constants left out: −n/2 ln(variance of the powers, divisor n) + (λ − 1) Σ logs.
 * Arguments as for `likeliestPower`; Infinity never comes out, −Infinity where the powers overflow.
 */
export function powerProfile(logs: Float64Array, lambda: number, mirrored = false): number {
  const curve: PowerCurve = { value: 0, first: 0, second: 0 };
  let sum = 0;
  const powers = logs.map((log) => {
    sum += log;
    const below = mirrored && log < 0;
    const size = below ? -log : log;
    powerCurve((below ? 2 - lambda : lambda) * size, curve);
    return (below ? -size : size) * curve.value;
  });
  const { rootMeanSquare } = momentsOf(powers);
  const value = (lambda - 1) * sum - logs.length * Math.log(rootMeanSquare);
  return Number.isFinite(value) ? value : -Infinity;
}
