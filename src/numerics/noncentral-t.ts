import { chiSquareUpperTail } from './chi-square.ts';
import { normalLowerTail, normalQuantile } from './normal.ts';
import { monotoneRoot } from './root.ts';

/**
 * P(T ≤ t) of the noncentral t distribution, to 1e-11 absolute, for any degrees of freedom > 0 and any
 * noncentrality (capability indices of a thousand pieces have noncentralities of 150, where the usual series
 * underflows).
 *
 * T ≤ t means Z + δ ≤ t·w with w = √(χ²/ν), so P is the mean of Φ(t·w − δ) over w. In y = ln w the density of w is
 * smooth and falls off exponentially on both sides, so the plain trapezoidal rule converges exponentially, and
 * dividing by the same rule for the density makes its constant unnecessary. Noncentralities so large that this
 * would take thousands of steps (data with next to no variation) are averaged over Z instead.
 */
export function noncentralTCumulative(t: number, degreesOfFreedom: number, noncentrality: number): number {
  const logDensity = (y: number) => degreesOfFreedom * (y - Math.expm1(2 * y) / 2);
  const step = 0.5 * Math.min(1 / Math.sqrt(2 * degreesOfFreedom), 1 / (1 + Math.abs(noncentrality)), 0.25);
  const width = 42 / degreesOfFreedom + 18 / Math.sqrt(2 * degreesOfFreedom);
  if (width / step > 5000)
    return noncentrality > 0
      ? averageOverNormal(t, degreesOfFreedom, noncentrality)
      : 1 - averageOverNormal(-t, degreesOfFreedom, -noncentrality);
  let mass = 0;
  let probability = 0;
  for (const direction of [1, -1]) {
    for (let k = direction === 1 ? 0 : 1; ; k++) {
      const y = direction * k * step;
      const exponent = logDensity(y);
      if (exponent < -42) break;
      const density = Math.exp(exponent);
      mass += density;
      probability += density * normalLowerTail(t * Math.exp(y) - noncentrality);
    }
  }
  return probability / mass;
}

/** P(T ≤ t) for a noncentrality so large that Z + δ is never negative: the mean over Z of P(w ≥ (Z + δ)/t). */
function averageOverNormal(t: number, degreesOfFreedom: number, noncentrality: number): number {
  if (t <= 0) return 0;
  const step = Math.min(0.5, (0.5 * t) / Math.sqrt(2 * degreesOfFreedom));
  const steps = Math.ceil(9 / step);
  let mass = 0;
  let probability = 0;
  for (let k = -steps; k <= steps; k++) {
    const z = k * step;
    const density = Math.exp((-z * z) / 2);
    mass += density;
    probability +=
      density * chiSquareUpperTail(degreesOfFreedom * ((z + noncentrality) / t) ** 2, degreesOfFreedom);
  }
  return probability / mass;
}

/** Noncentrality δ for which P(T ≤ t) = probability; null where none is found. */
export function noncentralityOf(t: number, degreesOfFreedom: number, probability: number): number | null {
  const spread = Math.sqrt(1 + (t * t) / (2 * degreesOfFreedom));
  const guess = t - normalQuantile(probability) * spread;
  return monotoneRoot(
    (noncentrality) => noncentralTCumulative(t, degreesOfFreedom, noncentrality) - probability,
    guess - spread / 4,
    guess + spread / 4,
  );
}

/** t with P(T ≤ t) = probability; null where none is found. */
export function noncentralTQuantile(
  probability: number,
  degreesOfFreedom: number,
  noncentrality: number,
): number | null {
  const spread = Math.sqrt(1 + (noncentrality * noncentrality) / (2 * degreesOfFreedom));
  const guess = noncentrality + normalQuantile(probability) * spread;
  return monotoneRoot(
    (t) => noncentralTCumulative(t, degreesOfFreedom, noncentrality) - probability,
    guess - spread / 4,
    guess + spread / 4,
  );
}
