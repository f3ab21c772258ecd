import { requireBetween, requireConfidence, requireName, requireWhole } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { monotoneRoot } from '../numerics/root.ts';
import { studentTQuantile } from '../numerics/student-t.ts';
import { allInsideProbability, type FutureReadings } from './all-inside-probability.ts';

export interface PredictionFactorOptions {
  /** Readings behind the mean, 1 … 1e9; from 2 where the standard deviation comes from the same readings. */
  readonly sampleSize: number;
  /** Future readings, 1 … 1e6. Default 1. */
  readonly futureCount?: number;
  /** 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
  /** Default 'two-sided'. */
  readonly sides?: 'one-sided' | 'two-sided';
  /**
   * 'exact' (default): all future readings inside together; 'bonferroni': the same with a simple safe factor; 'mean':
   * the mean of the future readings.
   */
  readonly method?: 'exact' | 'bonferroni' | 'mean';
  /** Of the standard deviation, 0.5 … 1e9. Default sampleSize − 1. */
  readonly degreesOfFreedom?: number;
}

export interface PredictionFactor {
  readonly method: 'exact' | 'bonferroni' | 'mean';
  /** The interval is mean ± factor · standard deviation. */
  readonly factor: number;
  readonly sampleSize: number;
  readonly futureCount: number;
  readonly degreesOfFreedom: number;
  readonly confidence: number;
  readonly sides: 'one-sided' | 'two-sided';
}

/**
 * How many standard deviations from the mean an interval must reach to hold the next readings of a normal population.
 *
 * @returns  the factor, dimensionless, exact to about 1e-9; Unavailable `not-reachable` where none could be computed.
 * @throws   StatisticsError `not-finite`, `not-an-integer`, `out-of-range`, `unknown-name` (options.…).
 *
 * Source: Hahn and Meeker, Statistical Intervals (1991), sections 4.7 and 4.8; ISO 16269-8.
 *
 * @example
 * predictionFactor({ sampleSize: 10, futureCount: 3 });
 * // available, factor 3.023…
 */
export function predictionFactor(options: PredictionFactorOptions): Outcome<PredictionFactor> {
  const { sampleSize, futureCount = 1, confidence = 0.95, sides = 'two-sided', method = 'exact' } = options;
  const { degreesOfFreedom = sampleSize - 1 } = options;
  requireWhole(sampleSize, options.degreesOfFreedom === undefined ? 2 : 1, 1e9, 'options.sampleSize');
  requireWhole(futureCount, 1, 1e6, 'options.futureCount');
  requireConfidence(confidence, 'options.confidence');
  requireName(sides, ['one-sided', 'two-sided'], 'options.sides');
  requireName(method, ['exact', 'bonferroni', 'mean'], 'options.method');
  requireBetween(degreesOfFreedom, 0.5, 1e9, 'options.degreesOfFreedom');
  const quantile = (outside: number) =>
    -studentTQuantile(outside / (sides === 'two-sided' ? 2 : 1), degreesOfFreedom);
  const bonferroni = quantile((1 - confidence) / futureCount) * Math.sqrt(1 + 1 / sampleSize);
  const factor =
    method === 'mean'
      ? quantile(1 - confidence) * Math.sqrt(1 / futureCount + 1 / sampleSize)
      : method === 'bonferroni' || futureCount === 1
        ? bonferroni
        : exactFactor(
            { sampleSize, futureCount, degreesOfFreedom, twoSided: sides === 'two-sided' },
            confidence,
            bonferroni,
          );
  if (factor === null || !Number.isFinite(factor))
    return {
      available: false,
      reason: 'not-reachable',
      message: 'No factor was found for so extreme a request. Measure more readings, or ask for less.',
    };
  return { available: true, method, factor, sampleSize, futureCount, degreesOfFreedom, confidence, sides };
}

function exactFactor(future: FutureReadings, confidence: number, bonferroni: number): number | null {
  const span = 0.02 * Math.abs(bonferroni) + 1e-3;
  const inside = allInsideProbability(future);
  return monotoneRoot((factor) => inside(factor) - confidence, bonferroni - span, bonferroni);
}
