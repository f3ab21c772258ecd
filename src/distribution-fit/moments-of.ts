/** The power of two next to the largest absolute value: dividing by it is exact and keeps squares from overflowing. */
export function unitOf(values: ArrayLike<number>): number {
  let largest = 0;
  for (let index = 0; index < values.length; index++) {
    const size = Math.abs(values[index]!);
    if (size > largest) largest = size;
  }
  if (largest === 0) return 1;
  return 2 ** Math.min(1023, Math.max(-1022, Math.floor(Math.log2(largest))));
}

/**
 * Distances from the first value, scaled by `unitOf`: the shape without the digits that a large common offset takes.
 * A mean near a thousand million is itself rounded to 1e-7.
 */
export function distancesFromFirst(values: ArrayLike<number>): number[] {
  const unit = unitOf(values);
  const origin = values[0]! / unit;
  return Array.from(values, (value) => value / unit - origin);
}

/**
 * Whether a spread of powers is more than rounding. A Box-Cox power of small numbers, or a negative one of large
 * numbers, is −1/lambda with the readings in its last digits, or in none: at this ratio 6 digits of the spread are left.
 */
export function isResolved(mean: number, spread: number): boolean {
  return spread > 1e-10 * Math.abs(mean);
}

interface Moments {
  readonly mean: number;
  /** Root of the mean square deviation from the mean (divisor n). */
  readonly rootMeanSquare: number;
  /** The same with divisor n − 1; 0 for one value. */
  readonly standardDeviation: number;
}

/**
 * Mean and spread in two passes: values far from zero lose no digits, and neither huge nor tiny units
 * overflow or vanish.
 *
 * Source: Chan, Golub and LeVeque, The American Statistician 37(3), 1983.
 */
export function momentsOf(values: ArrayLike<number>): Moments {
  const n = values.length;
  const unit = unitOf(values);
  const origin = values[0]! / unit;
  let distances = 0;
  for (let index = 0; index < n; index++) distances += values[index]! / unit - origin;
  const mean = origin + distances / n;
  let squares = 0;
  let remainder = 0;
  for (let index = 0; index < n; index++) {
    const deviation = values[index]! / unit - mean;
    squares += deviation * deviation;
    remainder += deviation;
  }
  const sum = Math.max(0, squares - (remainder * remainder) / n);
  return {
    mean: (mean + remainder / n) * unit,
    rootMeanSquare: Math.sqrt(sum / n) * unit,
    standardDeviation: n === 1 ? 0 : Math.sqrt(sum / (n - 1)) * unit,
  };
}
