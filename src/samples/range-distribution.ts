import { normalQuantile, normalUpperTail } from '../numerics/normal.ts';
import { monotoneRoot } from '../numerics/root.ts';

/** The trapezoidal rule on the whole line converges exponentially for bell-shaped integrands: 1/8 is plenty. */
const step = 1 / 8;
/** Beyond this a standard normal density is below 1e-20. */
const reach = 9.5;

/**
 * P(W > width) for the range W of n independent standard normal values, n ≥ 2, width > 0; relative error below 1e-11 down
 * to 1e-200:
 *
 *   P(W > w) = n ∫ φ(x) {Q(x)^(n − 1) − [Q(x) − Q(x + w)]^(n − 1)} dx,   Q the upper tail,
 *
 * which is one less than n ∫ φ Q^(n − 1) = 1 without the loss of digits.
 *
 * Source: Harter, Annals of Mathematical Statistics 31 (1960) 1122-1147.
 */
export function rangeUpperTail(width: number, n: number): number {
  let sum = 0;
  const count = Math.ceil((width + 2 * reach) / step);
  for (let k = 0; k <= count; k++) {
    const x = -reach - width + k * step;
    const above = normalUpperTail(x);
    const outside = normalUpperTail(x + width) / above;
    const longer = outside >= 1 ? 1 : -Math.expm1((n - 1) * Math.log1p(-outside));
    sum += Math.exp((-x * x) / 2) * above ** (n - 1) * longer;
  }
  return Math.min(1, (n * sum * step) / Math.sqrt(2 * Math.PI));
}

/**
 * Width that the range of n standard normal values exceeds with this probability, 1e-100 … 0.999; relative error below
 * 1e-10.
 */
export function rangeQuantile(upperTail: number, n: number): number {
  const target = Math.log(upperTail);
  // The sum over all pairs of values bounds the tail from above.
  const widest = -Math.SQRT2 * normalQuantile(upperTail / (n * (n - 1)));
  return monotoneRoot((width) => Math.log(rangeUpperTail(width, n)) - target, 1e-9, widest) ?? widest;
}
