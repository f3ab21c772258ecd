import { requireConfidence } from '../checks.ts';
import { studentTQuantile } from '../numerics/student-t.ts';
import { type Sample, summaryOf } from './sample.ts';

export interface MeanIntervalOptions {
  /** 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
}

export interface MeanInterval {
  readonly method: 'Student';
  readonly count: number;
  readonly mean: number;
  readonly standardDeviation: number;
  readonly degreesOfFreedom: number;
  readonly confidence: number;
  /** Two-sided: the true mean lies between them with the confidence. */
  readonly lower: number;
  readonly upper: number;
  /** One-sided: the true mean is above (below) it with the confidence. */
  readonly lowerBound: number;
  readonly upperBound: number;
  /** Quantiles of t behind the interval and behind the bounds. */
  readonly twoSidedQuantile: number;
  readonly oneSidedQuantile: number;
}

/**
 * How well the mean of a normal population is known from a sample.
 *
 * @param sample  2 or more finite readings, or count, mean and standard deviation.
 * @returns       all in the unit of the readings.
 * @throws        StatisticsError `empty`, `too-few-values`, `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 2602; NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2.
 *
 * @example
 * meanInterval([50, 48, 44, 56, 61, 52, 53, 55, 67, 51]);
 * // mean 53.7, lower 49.00…, upper 58.39…
 */
export function meanInterval(sample: Sample, options: MeanIntervalOptions = {}): MeanInterval {
  const { confidence = 0.95 } = options;
  requireConfidence(confidence, 'options.confidence');
  const { count, mean, standardDeviation } = summaryOf(sample, 'sample');
  const degreesOfFreedom = count - 1;
  const twoSidedQuantile = -studentTQuantile((1 - confidence) / 2, degreesOfFreedom);
  const oneSidedQuantile = -studentTQuantile(1 - confidence, degreesOfFreedom);
  const standardError = standardDeviation / Math.sqrt(count);
  return {
    method: 'Student',
    count,
    mean,
    standardDeviation,
    degreesOfFreedom,
    confidence,
    lower: mean - twoSidedQuantile * standardError,
    upper: mean + twoSidedQuantile * standardError,
    lowerBound: mean - oneSidedQuantile * standardError,
    upperBound: mean + oneSidedQuantile * standardError,
    twoSidedQuantile,
    oneSidedQuantile,
  };
}
