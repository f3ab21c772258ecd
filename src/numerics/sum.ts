/**
 * Sum with the rounding errors carried along: as accurate as if added with twice the digits.
 *
 * Source: A. Neumaier, Zeitschrift für Angewandte Mathematik und Mechanik 54 (1974) 39-51 (cited from memory).
 */
export function preciseSum(values: ArrayLike<number>): number {
  let sum = 0;
  let lost = 0;
  for (let index = 0; index < values.length; index++) {
    const value = values[index]!;
    const next = sum + value;
    lost += Math.abs(sum) >= Math.abs(value) ? sum - next + value : value - next + sum;
    sum = next;
  }
  return Number.isFinite(sum) ? sum + lost : sum;
}
