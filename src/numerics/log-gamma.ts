/** Euler's constant less one, and ζ(k) − 1 from k = 2 (Abramowitz and Stegun, table 23.3; computed anew). */
const eulerLessOne = -0.42278433509846713;
const zetaLessOne = [
  0.6449340668482264, 0.2020569031595943, 0.08232323371113819, 0.03692775514336993, 0.01734306198444914,
  0.008349277381922827, 0.00407735619794434, 0.0020083928260822143, 0.0009945751278180853,
  0.0004941886041194645, 0.0002460865533080483, 0.00012271334757848915, 6.124813505870483e-5,
  3.058823630702049e-5, 1.528225940865187e-5, 7.637197637899763e-6, 3.81729326499984e-6, 1.908212716553939e-6,
  9.539620338727962e-7, 4.769329867878064e-7, 2.38450502727733e-7, 1.1921992596531106e-7,
  5.960818905125948e-8, 2.980350351465228e-8, 1.490155482836504e-8, 7.45071178983543e-9, 3.725334024788457e-9,
  1.862659723513049e-9, 9.313274324196682e-10, 4.656629065033784e-10,
];
const halfLogTwoPi = 0.9189385332046728;

/** ln Γ(2 + w) for |w| ≤ ½. Source: Abramowitz and Stegun, 6.1.33. */
function logGammaNearTwo(w: number): number {
  let sum = 0;
  for (let k = zetaLessOne.length - 1; k >= 0; k--) sum = (zetaLessOne[k]! / (k + 2) - sum) * w;
  return w * (sum - eulerLessOne);
}

/**
 * Natural logarithm of Γ(x) for x > 0, relative error about 1e-15, also near its zeros 1 and 2.
 *
 * The Taylor series at 2 up to 2.5, the recurrence from there up to 10, then Stirling's series.
 * Source: Abramowitz and Stegun, 6.1.15, 6.1.33, 6.1.41.
 */
export function logGamma(x: number): number {
  if (x < 0.5) return logGammaNearTwo(x) - Math.log1p(x) - Math.log(x);
  if (x < 1.5) return logGammaNearTwo(x - 1) - Math.log(x);
  if (x <= 2.5) return logGammaNearTwo(x - 2);
  if (x >= 10) return (x - 0.5) * Math.log(x) - x + halfLogTwoPi + stirlingSeries(x);
  let product = 1;
  let shifted = x;
  while (shifted > 2.5) {
    shifted -= 1;
    product *= shifted;
  }
  return logGammaNearTwo(shifted - 2) + Math.log(product);
}

/** ln Γ(x + 1) less Stirling's formula for it, (x + ½) ln x − x + ½ ln 2π, for x > 0. */
export function stirlingError(x: number): number {
  if (x >= 10) return stirlingSeries(x);
  return logGamma(x + 1) - (x + 0.5) * Math.log(x) + x - halfLogTwoPi;
}

/** For x ≥ 10, where the first term left out is below 1e-17. Source: Abramowitz and Stegun, 6.1.41. */
function stirlingSeries(x: number): number {
  const y = 1 / (x * x);
  return (
    (1 / 12 -
      y *
        (1 / 360 -
          y *
            (1 / 1260 -
              y * (1 / 1680 - y * (1 / 1188 - y * (691 / 360360 - y * (1 / 156 - (y * 3617) / 122400))))))) /
    x
  );
}

/** Digamma function ψ(x), the derivative of ln Γ, for x > 0; absolute error about 1e-15 · max(1, 1/x). */
export function digamma(x: number): number {
  let shifted = x;
  let below = 0;
  while (shifted < 10) {
    below += 1 / shifted;
    shifted += 1;
  }
  const y = 1 / (shifted * shifted);
  // Source: Abramowitz and Stegun, 6.3.5 and 6.3.18.
  const series =
    y * (1 / 12 - y * (1 / 120 - y * (1 / 252 - y * (1 / 240 - y * (1 / 132 - y * (691 / 32760 - y / 12))))));
  return Math.log(shifted) - 1 / (2 * shifted) - series - below;
}

/** Trigamma function ψ′(x), the second derivative of ln Γ, for x > 0; relative error about 1e-15. */
export function trigamma(x: number): number {
  let shifted = x;
  let below = 0;
  while (shifted < 10) {
    below += 1 / (shifted * shifted);
    shifted += 1;
  }
  const y = 1 / (shifted * shifted);
  // Source: Abramowitz and Stegun, 6.4.6 and 6.4.12.
  const series =
    1 / 6 - y * (1 / 30 - y * (1 / 42 - y * (1 / 30 - y * (5 / 66 - y * (691 / 2730 - (y * 7) / 6)))));
  return below + 1 / shifted + y / 2 + (series * y) / shifted;
}
