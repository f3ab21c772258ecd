import { requireBetween, requireWhole } from '../checks.ts';
import { chiSquareQuantile } from '../numerics/chi-square.ts';
import { requireIndexConfidence } from './index-interval.ts';

export interface ToleranceIndexRatioOptions {
  /** Values in the study, 2 … 1 000 000. */
  readonly sampleSize: number;
  /** Of the proof, 0.5 … 0.9999. Default 0.95. */
  readonly confidence?: number;
  /** Chance that a good process is recognised, below 1. Default 0.95. */
  readonly power?: number;
}

/**
 * By what factor must the true Cp exceed the required one for n values to prove it with the given power?
 *
 * @returns dimensionless, above 0.
 * @throws  StatisticsError `not-finite`, `not-an-integer`, `out-of-range`, naming the field.
 *
 * Source: Kane, V. E., Process capability indices, Journal of Quality Technology 18 (1986) 41-52:
 * √(χ²(power, n − 1)/χ²(1 − confidence, n − 1)), lower-tail quantiles.
 *
 * @example
 * toleranceIndexRatio({ sampleSize: 30 });
 * // 1.5502…
 */
export function toleranceIndexRatio(options: ToleranceIndexRatioOptions): number {
  const { sampleSize, confidence = 0.95, power = 0.95 } = options;
  requireWhole(sampleSize, 2, 1_000_000, 'options.sampleSize');
  requireIndexConfidence(confidence, 'options.confidence');
  requireBetween(power, 1e-6, 1 - 1e-6, 'options.power');
  return Math.sqrt(
    chiSquareQuantile(power, sampleSize - 1) / chiSquareQuantile(1 - confidence, sampleSize - 1),
  );
}
