import { requireConfidence, requireFinite, requireName } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { noSpread } from './no-spread.ts';
import { requireModest, type Sample, summaryOf } from './sample.ts';
import { type SideVerdict, studentVerdict, type TestSide, testSides } from './test-side.ts';

export interface MeanTestOptions {
  /** The mean that the sample is compared with, in the unit of the readings. */
  readonly hypothesizedMean: number;
  /** Default 'two-sided'. */
  readonly side?: TestSide;
  /** 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
}

export interface MeanTest extends SideVerdict {
  readonly method: 'one-sample t';
  readonly count: number;
  readonly mean: number;
  readonly standardDeviation: number;
  readonly statistic: number;
  readonly degreesOfFreedom: number;
}

/**
 * Does the mean of a normal population differ from a given one?
 *
 * @param sample  2 or more finite readings, or count, mean and standard deviation.
 * @returns       statistic and critical value dimensionless; Unavailable `no-variation` where all readings are equal.
 * @throws        StatisticsError `empty`, `too-few-values`, `not-finite`, `not-an-integer`, `out-of-range`,
 *                `unknown-name`.
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.2.
 *
 * @example
 * meanTest([50, 48, 44, 56, 61, 52, 53, 55, 67, 51], { hypothesizedMean: 50, side: 'upper' });
 * // available, statistic 1.781…, criticalValue 1.833…, significant false
 */
export function meanTest(sample: Sample, options: MeanTestOptions): Outcome<MeanTest> {
  const { hypothesizedMean, side = 'two-sided', confidence = 0.95 } = options;
  requireFinite(hypothesizedMean, 'options.hypothesizedMean');
  requireModest(Math.abs(hypothesizedMean), 'options.hypothesizedMean', 0);
  requireName(side, testSides, 'options.side');
  requireConfidence(confidence, 'options.confidence');
  const { count, mean, standardDeviation } = summaryOf(sample, 'sample');
  if (standardDeviation === 0) return noSpread;
  const degreesOfFreedom = count - 1;
  const statistic = ((mean - hypothesizedMean) / standardDeviation) * Math.sqrt(count);
  return {
    available: true,
    method: 'one-sample t',
    count,
    mean,
    standardDeviation,
    statistic,
    degreesOfFreedom,
    ...studentVerdict(statistic, degreesOfFreedom, side, confidence),
  };
}
