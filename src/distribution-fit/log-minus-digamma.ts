import { excessOverLog } from '../numerics/deviance.ts';

/**
 * ln k − ψ(k) for k > 0, without the cancellation of the two, and how steeply its logarithm falls over ln k.
 *
 * From k = 12 on by the asymptotic series, below by the recurrence ψ(k + 1) = ψ(k) + 1/k.
 * Source: Abramowitz and Stegun, 6.3.5, 6.3.18 and 6.4.12.
 */
export function logMinusDigamma(k: number): { readonly value: number; readonly slope: number } {
  let steps = 0;
  let bends = 0;
  let shifted = k;
  while (shifted < 12) {
    steps += excessOverLog(1 / shifted);
    bends += 1 / (shifted * shifted) - 1 / (shifted * (shifted + 1));
    shifted += 1;
  }
  const y = 1 / (shifted * shifted);
  const value =
    steps +
    1 / (2 * shifted) +
    y * (1 / 12 - y * (1 / 120 - y * (1 / 252 - y * (1 / 240 - y * (1 / 132 - (y * 691) / 32760)))));
  // ψ′(k) − 1/k, of which each shift takes 1/k² − (1/k − 1/(k + 1)).
  const bend = bends + (y / 2) * (1 + (1 / (3 * shifted)) * (1 - (y / 5) * (1 - (5 * y) / 7)));
  return { value, slope: (k * bend) / value };
}
