import { normalUpperTail } from '../numerics/normal.ts';
import { studentTUpperTail } from '../numerics/student-t.ts';

/** Whether values in the order of production drift. */
export interface RunTrend {
  /** Change from the first value to the last along the fitted line, in the unit of the values. */
  readonly drift: number;
  /** Chance of a slope at least this steep, either way, if the order does not matter. */
  readonly slopePValue: number;
  /** Chance of neighbours at least this much alike if the order does not matter; finds waves and jumps too. */
  readonly neighboursPValue: number;
}

/**
 * Slope of the least-squares line over the order, and the mean square successive difference against the variance.
 * Needs at least 5 values that are not all equal.
 *
 * Source: von Neumann, Annals of Mathematical Statistics 12 (1941) 367-395; normal approximation of Young, ibid. 293-300
 * (cited from memory).
 */
export function runTrend(values: readonly number[]): RunTrend {
  const n = values.length;
  const origin = values[0]!;
  const mean = values.reduce((sum, value) => sum + (value - origin), 0) / n;
  let products = 0;
  let squares = 0;
  let successive = 0;
  for (let place = 0; place < n; place++) {
    const deviation = values[place]! - origin - mean;
    products += deviation * (place - (n - 1) / 2);
    squares += deviation ** 2;
    if (place > 0) successive += (values[place]! - values[place - 1]!) ** 2;
  }
  const spread = (n * (n * n - 1)) / 12;
  const slope = products / spread;
  const residual = Math.max(0, squares - slope * products);
  const t = Math.abs(slope) / Math.sqrt(residual / (n - 2) / spread);
  const likeness = (1 - successive / squares / 2) / Math.sqrt((n - 2) / (n * n - 1));
  return {
    drift: slope * (n - 1),
    slopePValue: residual > 0 ? 2 * studentTUpperTail(t, n - 2) : 0,
    neighboursPValue: normalUpperTail(likeness),
  };
}
