/**
 * Γ(n/2) / Γ((n − 1)/2) for whole n ≥ 2, without the overflow and the cancellation of two separate gamma
 * functions.
 *
 * Up to n = 400 by the recurrence g(n + 1) = ((n − 1)/2) / g(n) from g(2) = 1/√π, which follows from
 * Γ(x + 1) = x Γ(x); beyond by the asymptotic series of Γ(x + ½)/Γ(x), whose first term left out is below 1e-16.
 *
 * Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 6.1.15 and 6.1.47.
 */
export function halfStepGammaRatio(n: number): number {
  if (n > 400) {
    const x = (n - 1) / 2;
    const y = 1 / x;
    return (
      Math.sqrt(x) *
      (1 + y * (-1 / 8 + y * (1 / 128 + y * (5 / 1024 + y * (-21 / 32768 - (y * 399) / 262144)))))
    );
  }
  let ratio = 1 / Math.sqrt(Math.PI);
  for (let m = 2; m < n; m++) ratio = (m - 1) / 2 / ratio;
  return ratio;
}
