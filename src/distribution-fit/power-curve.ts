/** (exp(t) − 1)/t and its first two derivatives over t, to all digits also around t = 0. */
export interface PowerCurve {
  value: number;
  first: number;
  second: number;
}

/**
 * Fills `curve` for an exponent t, so that a pass over many values allocates nothing: x^λ is the exponential of
 * λ ln x, and (x^λ − 1)/λ = ln x · value(λ ln x).
 *
 * The series Σ t^j / (j + 1)! and its derivatives where they cancel, the closed forms elsewhere.
 */
export function powerCurve(t: number, curve: PowerCurve): void {
  if (Math.abs(t) > 1) {
    const power = Math.exp(t);
    curve.value = Math.expm1(t) / t;
    curve.first = (power - curve.value) / t;
    curve.second = (power - 2 * curve.first) / t;
    return;
  }
  let term = 1;
  let value = 0;
  let first = 0;
  let second = 0;
  for (let j = 0; j < 20; j++) {
    value += term / (j + 1);
    first += term / (j + 2);
    second += term / (j + 3);
    term *= t / (j + 1);
    if (Math.abs(term) < 1e-18) break;
  }
  curve.value = value;
  curve.first = first;
  curve.second = second;
}
