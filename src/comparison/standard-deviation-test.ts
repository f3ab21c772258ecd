import { requireConfidence, requireName, requirePositive } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { chiSquareLowerTail, chiSquareQuantile, chiSquareUpperTail } from '../numerics/chi-square.ts';
import { noSpread } from './no-spread.ts';
import { requireModest, type Sample, summaryOf } from './sample.ts';
import { type TestSide, testSides } from './test-side.ts';

export interface StandardDeviationTestOptions {
  /** > 0, in the unit of the readings. */
  readonly hypothesizedStandardDeviation: number;
  /** Default 'two-sided'. */
  readonly side?: TestSide;
  /** 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
}

export interface StandardDeviationTest {
  readonly method: 'chi-square';
  readonly count: number;
  readonly standardDeviation: number;
  /** (n − 1) s²/σ², with degreesOfFreedom n − 1. */
  readonly statistic: number;
  readonly degreesOfFreedom: number;
  /** null on a side that is not asked about. */
  readonly lowerCriticalValue: number | null;
  readonly upperCriticalValue: number | null;
  readonly pValue: number;
  readonly significant: boolean;
  /** Two-sided interval for the true standard deviation. */
  readonly lower: number;
  readonly upper: number;
}

/**
 * Does the standard deviation of a normal population differ from a given one, and within which limits does it lie?
 * Reacts strongly to a shape that is not normal.
 *
 * @param sample  2 or more finite readings, or count, mean and standard deviation.
 * @returns       Unavailable `no-variation` where all readings are equal.
 * @throws        StatisticsError `empty`, `too-few-values`, `not-finite`, `not-an-integer`, `out-of-range`,
 *                `unknown-name`.
 *
 * Source: ISO 2854; NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.3.
 *
 * @example
 * const sample = { count: 10, mean: 0, standardDeviation: 13.97 };
 * standardDeviationTest(sample, { hypothesizedStandardDeviation: 10, side: 'upper' });
 * // available, statistic 17.56…, upperCriticalValue 16.91…, significant true
 */
export function standardDeviationTest(
  sample: Sample,
  options: StandardDeviationTestOptions,
): Outcome<StandardDeviationTest> {
  const { hypothesizedStandardDeviation, side = 'two-sided', confidence = 0.95 } = options;
  requirePositive(hypothesizedStandardDeviation, 'options.hypothesizedStandardDeviation');
  requireModest(hypothesizedStandardDeviation, 'options.hypothesizedStandardDeviation');
  requireName(side, testSides, 'options.side');
  requireConfidence(confidence, 'options.confidence');
  const { count, standardDeviation } = summaryOf(sample, 'sample');
  if (standardDeviation === 0) return noSpread;
  const degreesOfFreedom = count - 1;
  const statistic = degreesOfFreedom * (standardDeviation / hypothesizedStandardDeviation) ** 2;
  const tails = side === 'two-sided' ? 2 : 1;
  const outside = (1 - confidence) / tails;
  const [below, above] = [
    chiSquareLowerTail(statistic, degreesOfFreedom),
    chiSquareUpperTail(statistic, degreesOfFreedom),
  ];
  const pValue =
    side === 'upper' ? above : side === 'lower' ? below : Math.min(1, 2 * Math.min(below, above));
  const limit = (probability: number) =>
    standardDeviation * Math.sqrt(degreesOfFreedom / chiSquareQuantile(probability, degreesOfFreedom));
  return {
    available: true,
    method: 'chi-square',
    count,
    standardDeviation,
    statistic,
    degreesOfFreedom,
    lowerCriticalValue: side === 'upper' ? null : chiSquareQuantile(outside, degreesOfFreedom),
    upperCriticalValue: side === 'lower' ? null : chiSquareQuantile(1 - outside, degreesOfFreedom),
    pValue,
    significant: pValue < 1 - confidence,
    lower: limit((1 + confidence) / 2),
    upper: limit((1 - confidence) / 2),
  };
}
