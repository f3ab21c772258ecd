import { excessOverLog } from './deviance.ts';
import { type KnownTail, probabilityOn, solveTail } from './known-tail.ts';
import { logGamma, stirlingError } from './log-gamma.ts';
import { normalQuantile } from './normal.ts';
import { tailIntegral } from './tail-integral.ts';

export { digamma, logGamma, trigamma } from './log-gamma.ts';

/**
 * P(X ≤ x) of the gamma distribution with scale 1, for x ≥ 0 and shape > 0: the regularised incomplete gamma function.
 * Relative error about 1e-13 or below in both tails, down to 1e-300 (tests/reference/distributions.json).
 *
 * Source: Abramowitz and Stegun, 6.5.29 (series) and 6.5.31 (continued fraction); for shapes of 100 and more the
 * integral itself, over the part that matters.
 */
export function gammaLowerTail(x: number, shape: number): number {
  return x <= 0 ? 0 : probabilityOn('lower', gammaTail(x, shape));
}

/** P(X > x), as accurate as gammaLowerTail. */
export function gammaUpperTail(x: number, shape: number): number {
  return x <= 0 ? 1 : probabilityOn('upper', gammaTail(x, shape));
}

/** x with P(X ≤ x) = probability, in (0, 1); relative error about 1e-13, above ½ as good as 1 − probability is known. */
export function gammaQuantile(probability: number, shape: number): number {
  const side = probability <= 0.5 ? 'lower' : 'upper';
  const tail = side === 'lower' ? probability : 1 - probability;
  return solveTail(tail, side, quantileGuess(probability, shape), (x) => gammaTail(x, shape));
}

/** Wilson and Hilferty's cube where it is above 0, else the leading term of the series (cited from memory). */
function quantileGuess(probability: number, shape: number): number {
  const cube = 1 - 1 / (9 * shape) + normalQuantile(probability) / (3 * Math.sqrt(shape));
  return shape > 0.5 && cube > 0.2
    ? shape * cube ** 3
    : Math.max(Number.MIN_VALUE, Math.exp((Math.log(probability) + logGamma(shape + 1)) / shape));
}

/** The tail that is computed without cancellation, as a logarithm that does not underflow; x > 0. */
export function gammaTail(x: number, shape: number): KnownTail {
  const logDensity = Math.log(shape) + logFactor(x, shape);
  const known = (side: 'lower' | 'upper', scaled: number): KnownTail => ({
    side,
    log: Math.min(0, logDensity + Math.log(scaled)),
    logDensity,
  });
  if (shape >= 100) {
    const side = x < shape ? 'lower' : 'upper';
    return known(side, scaledIntegral(x, shape, side));
  }
  if (x < 1.1 && shape < 1) return smallShapeTail(x, shape, logDensity);
  return x < shape + 1
    ? known('lower', lowerSeries(x, shape) / shape)
    : known('upper', upperFraction(x, shape));
}

/** ln of x^shape · exp(−x) / Γ(shape + 1). */
function logFactor(x: number, shape: number): number {
  if (shape < 10) return shape * Math.log(x) - x - logGamma(shape + 1);
  const ratio = (x - shape) / shape;
  const excess = ratio < -0.4 ? ratio - Math.log(x / shape) : excessOverLog(ratio);
  return -shape * excess - stirlingError(shape) - Math.log(2 * Math.PI * shape) / 2;
}

/** The tail over x^shape · exp(−x) / Γ(shape), as an integral over the distance u from x in parts of x. */
function scaledIntegral(x: number, shape: number, side: 'lower' | 'upper'): number {
  const sign = side === 'lower' ? -1 : 1;
  const slope = sign * (x - shape + 1);
  const power = shape - 1;
  return tailIntegral(
    (u) => -slope * u - power * excessOverLog(sign * u),
    80 / (slope + Math.hypot(slope, Math.sqrt(80 * power))),
    side === 'lower' ? 1 : Infinity,
  );
}

function lowerSeries(x: number, shape: number): number {
  let term = 1;
  let sum = 1;
  for (let n = 1; term > 1e-17 * sum; n++) {
    term *= x / (shape + n);
    sum += term;
  }
  return sum;
}

/** Continued fraction of the upper tail over x^shape · exp(−x) / Γ(shape), by the modified method of Lentz. */
function upperFraction(x: number, shape: number): number {
  let b = x + 1 - shape;
  let c = 1e300;
  let d = 1 / b;
  let fraction = d;
  for (let n = 1; n < 10_000; n++) {
    const a = -n * (n - shape);
    b += 2;
    d = 1 / (a * d + b);
    c = b + a / c;
    const factor = c * d;
    fraction *= factor;
    if (Math.abs(factor - 1) < 2e-16) break;
  }
  return fraction;
}

/** Shapes below 1 near 0, where both tails are worth having: the alternating series, less its first term by expm1. */
function smallShapeTail(x: number, shape: number, logDensity: number): KnownTail {
  let power = 1;
  let sum = 0;
  for (let n = 1; n < 60; n++) {
    power *= -x / n;
    sum += power / (shape + n);
  }
  const exponent = shape * Math.log(x) - logGamma(1 + shape);
  const upper = -Math.expm1(exponent) - shape * sum * Math.exp(exponent);
  return upper > 0.5
    ? { side: 'lower', log: exponent + Math.log1p(shape * sum), logDensity }
    : { side: 'upper', log: Math.log(upper), logDensity };
}
