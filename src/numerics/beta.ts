import { deviance, excessOverLog } from './deviance.ts';
import { exactProduct, exactSum } from './double-double.ts';
import { type KnownTail, probabilityOn, solveTail } from './known-tail.ts';
import { stirlingError } from './log-gamma.ts';
import { tailIntegral } from './tail-integral.ts';

/**
 * P(X ≤ x) of the beta distribution, for x in [0, 1] and a, b from 1e-6 to 1e15: the regularised incomplete beta function. Relative
 * error about 1e-13 in both tails, down to 1e-300 (tests/reference/distributions.json); with a or b below 0.01 the
 * tail next to the end that holds nearly everything is known to 1e-13 absolute only.
 *
 * Source: Abramowitz and Stegun, 26.5.4 (series) and 26.5.8 (continued fraction); for large parameters the integral
 * itself, over the part that matters. The common factor by the saddle-point expansion of C. Loader, Fast and accurate
 * computation of binomial probabilities (2000; cited from memory).
 */
export function betaLowerTail(x: number, a: number, b: number): number {
  return x <= 0
    ? 0
    : x >= 1
      ? 1
      : probabilityOn('lower', betaTail(a, b, x, 1 - x, distanceFromMean(x, a, b)));
}

/** P(X > x), as accurate as betaLowerTail. */
export function betaUpperTail(x: number, a: number, b: number): number {
  return x <= 0
    ? 1
    : x >= 1
      ? 0
      : probabilityOn('upper', betaTail(a, b, x, 1 - x, distanceFromMean(x, a, b)));
}

/** x with P(X ≤ x) = probability, in (0, 1); relative error about 1e-13, above ½ as good as 1 − probability is known. */
export function betaQuantile(probability: number, a: number, b: number): number {
  const odds =
    (a / b) *
    ratioQuantile(
      probability <= 0.5 ? probability : 1 - probability,
      probability <= 0.5 ? 'lower' : 'upper',
      a,
      b,
    );
  return odds > 1 ? 1 / (1 + 1 / odds) : odds / (1 + odds);
}

/**
 * Tails of the ratio (X/a) / ((1 − X)/b), which is what F and t distributions are made of: at ratios near 1 it knows
 * the distance from the mean to all digits.
 *
 * @param excess  ratio − 1, where the caller knows it better.
 */
export function ratioTail(ratio: number, a: number, b: number, excess = ratio - 1): KnownTail {
  const odds = ratio * (a / b);
  const y = 1 / (1 + odds);
  return betaTail(a, b, 1 / (1 + 1 / odds), y, a * (excess * y));
}

/** The ratio whose tail on `side` holds `probability`. */
export function ratioQuantile(probability: number, side: 'lower' | 'upper', a: number, b: number): number {
  return solveTail(probability, side, 1, (ratio) => ratioTail(ratio, a, b));
}

/** (a + b)·x − a without losing the digits that cancel. */
function distanceFromMean(x: number, a: number, b: number): number {
  const size = exactSum(a, b);
  const product = exactProduct(size.high, x);
  return product.high - a + (product.low + size.low * x);
}

/** `distance` is b·x − a·y, with y = 1 − x. */
function betaTail(a: number, b: number, x: number, y: number, distance: number): KnownTail {
  const logDensity =
    Math.log((a / (a + b)) * (b / (2 * Math.PI))) / 2 +
    (stirlingError(a + b) - stirlingError(a) - stirlingError(b)) -
    deviance(a, (a + b) * x, distance) -
    deviance(b, (a + b) * y, -distance);
  const known = (side: 'lower' | 'upper', scaled: number): KnownTail => ({
    side,
    log: Math.min(0, logDensity + Math.log(scaled)),
    logDensity,
  });
  return distance <= 0
    ? smallerTail(a, b, x, y, distance, (direct, scaled) => known(direct ? 'lower' : 'upper', scaled))
    : smallerTail(b, a, y, x, -distance, (direct, scaled) => known(direct ? 'upper' : 'lower', scaled));
}

/** The lower tail for x up to the mean, over x^a · y^b / B(a, b); or (not direct) the other one, where that is better. */
function smallerTail<T>(
  a: number,
  b: number,
  x: number,
  y: number,
  distance: number,
  known: (direct: boolean, scaled: number) => T,
): T {
  if (a < 100) return known(true, (b < 100 ? fraction(a, b, x) : series(a, b, x)) / a);
  // A b below 1 right at its end of the range: the integral has a pole beside it, the other tail is a short series.
  if (b < 1 && a * y < x) return known(false, series(b, a, y) / b);
  return known(true, scaledIntegral(a, b, x, y, distance));
}

/** As an integral over the distance u from x in parts of x. */
function scaledIntegral(a: number, b: number, x: number, y: number, distance: number): number {
  const odds = x / y;
  const slope = (x - y - distance) / y;
  const bend = a - 1 + Math.max(0, b - 1) * odds * odds;
  const fall = b < 1 ? a - 1 : slope;
  const integral = tailIntegral(
    (u) => -slope * u - (a - 1) * excessOverLog(-u) - (b - 1) * excessOverLog(u * odds),
    80 / (fall + Math.hypot(fall, Math.sqrt(80 * bend))),
    1,
  );
  return integral / y;
}

function series(a: number, b: number, x: number): number {
  let term = 1;
  let sum = 1;
  for (let n = 0; n < 10_000 && term > 1e-17 * sum; n++) {
    term *= ((a + b + n) / (a + 1 + n)) * x;
    sum += term;
  }
  return sum;
}

/** By the modified method of Lentz. */
function fraction(a: number, b: number, x: number): number {
  let c = 1;
  let d = 1 / (1 - ((a + b) * x) / (a + 1));
  let value = d;
  for (let m = 1; m < 10_000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / (1 + even * d);
    c = 1 + even / c;
    value *= c * d;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / (1 + odd * d);
    c = 1 + odd / c;
    const factor = c * d;
    value *= factor;
    if (Math.abs(factor - 1) < 2e-16) break;
  }
  return value;
}
