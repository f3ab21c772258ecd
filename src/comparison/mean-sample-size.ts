import { requireBetween, requireName } from '../checks.ts';
import { normalQuantile } from '../numerics/normal.ts';
import { studentTQuantile } from '../numerics/student-t.ts';

export interface MeanSampleSizeOptions {
  /** The shift worth noticing, in standard deviations: 1e-3 … 100. */
  readonly shift: number;
  /** 1 − the chance of a false alarm, 0.5 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
  /** Chance of noticing the shift, 0.5 … 1 − 1e-9. Default 0.9. */
  readonly power?: number;
  /** Default 'two-sided'. */
  readonly sides?: 'one-sided' | 'two-sided';
}

export interface MeanSampleSize {
  readonly method: 'normal approximation with one t step';
  /** For a known standard deviation, before rounding up. */
  readonly normalValue: number;
  readonly normalSampleSize: number;
  /** For an estimated one: the same with quantiles of t for the sample size just found. */
  readonly refinedValue: number;
  readonly sampleSize: number;
}

/**
 * How many readings does it take to notice that a mean has shifted?
 *
 * @throws  StatisticsError `not-finite`, `out-of-range`, `unknown-name` (options.…).
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.2.2.
 *
 * @example
 * meanSampleSize({ shift: 1, sides: 'one-sided' });
 * // normalValue 8.563…, normalSampleSize 9, sampleSize 11
 */
export function meanSampleSize(options: MeanSampleSizeOptions): MeanSampleSize {
  const { shift, confidence = 0.95, power = 0.9, sides = 'two-sided' } = options;
  requireBetween(shift, 1e-3, 100, 'options.shift');
  requireBetween(confidence, 0.5, 1 - 1e-9, 'options.confidence');
  requireBetween(power, 0.5, 1 - 1e-9, 'options.power');
  requireName(sides, ['one-sided', 'two-sided'], 'options.sides');
  const outside = (1 - confidence) / (sides === 'two-sided' ? 2 : 1);
  const size = (quantile: (probability: number) => number) =>
    ((quantile(outside) + quantile(1 - power)) / shift) ** 2;
  const normalValue = size(normalQuantile);
  const normalSampleSize = Math.max(2, Math.ceil(normalValue));
  const refinedValue = size((probability) => studentTQuantile(probability, normalSampleSize - 1));
  return {
    method: 'normal approximation with one t step',
    normalValue,
    normalSampleSize,
    refinedValue,
    sampleSize: Math.max(2, Math.ceil(refinedValue)),
  };
}
