import { requireConfidence, requireWhole } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { achieved, reaches } from './distribution-free-tolerance.ts';

export interface ToleranceSampleSizeOptions {
  /** 0.001 … 1 − 1e-9. */
  readonly coverage: number;
  /** Default 0.95. */
  readonly confidence?: number;
  /** The sum of the two ranks: 1 for one-sided, 2 (default) for smallest to largest, more to leave extremes out. */
  readonly ranks?: number;
}

export interface ToleranceSampleSize {
  readonly sampleSize: number;
  readonly achievedConfidence: number;
}

/**
 * Least number of readings whose extremes hold a share of the population with a confidence, whatever the distribution.
 *
 * @returns  whole number; Unavailable `not-reachable` where it would exceed 1e9.
 * @throws   StatisticsError `not-finite`, `not-an-integer`, `out-of-range` (options.…).
 *
 * Source: ISO 16269-6; Wilks, Annals of Mathematical Statistics 12 (1941) 91-96.
 *
 * @example
 * toleranceSampleSize({ coverage: 0.95, ranks: 1 });
 * // available, sampleSize 59
 */
export function toleranceSampleSize(options: ToleranceSampleSizeOptions): Outcome<ToleranceSampleSize> {
  const { coverage, confidence = 0.95, ranks = 2 } = options;
  requireConfidence(coverage, 'options.coverage');
  requireConfidence(confidence, 'options.confidence');
  requireWhole(ranks, 1, 1000, 'options.ranks');
  const isEnough = (sampleSize: number) => reaches(achieved(sampleSize, ranks, coverage), confidence);
  let high = ranks;
  while (!isEnough(high)) {
    if (high > 1e9)
      return {
        available: false,
        reason: 'not-reachable',
        message:
          'More than a thousand million readings would be needed. Ask for less coverage or confidence.',
      };
    high *= 2;
  }
  let low = Math.floor(high / 2);
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (middle >= ranks && isEnough(middle)) high = middle;
    else low = middle;
  }
  return { available: true, sampleSize: high, achievedConfidence: achieved(high, ranks, coverage) };
}
