import { requireConfidence, requireName } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { studentTQuantile, studentTUpperTail } from '../numerics/student-t.ts';
import { type Deviations, deviationsOf } from './deviations.ts';
import { outlierAdvice } from './outlier-advice.ts';

export interface GrubbsTestOptions {
  /** Which reading is suspected: the farthest, the largest, the smallest. Default 'two-sided'. */
  readonly side?: 'two-sided' | 'upper' | 'lower';
  /** 1 − the chance that a sample without an outlier is called to have one, 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
}

export interface GrubbsTest {
  readonly method: 'Grubbs';
  readonly side: 'two-sided' | 'upper' | 'lower';
  readonly count: number;
  /** The suspected reading: its index and value. */
  readonly index: number;
  readonly value: number;
  /** Its distance from the mean in standard deviations. */
  readonly statistic: number;
  readonly criticalValue: number;
  /** Probability of so large a statistic without an outlier, at most. */
  readonly pValue: number;
  readonly isOutlier: boolean;
  readonly message: string;
}

/**
 * Does one reading lie too far from the others to belong to the same normal population?
 *
 * For one suspected reading only: two that lie close together hide each other; generalizedDeviateTest looks for several.
 *
 * @param values  3 or more finite readings in one unit.
 * @returns       statistic and critical value, dimensionless; Unavailable `no-variation` where all readings are equal.
 * @throws        StatisticsError `empty`, `too-few-values`, `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: ISO 16269-4, Grubbs' test; F. E. Grubbs, Technometrics 11 (1969) 1-21. Critical value and p-value by Student's
 * t with n − 2 degrees of freedom at α/n (two-sided α/(2n)): exact for statistics above √((n − 1)(n − 2)/(2n)), where
 * no two readings can reach it at once, and slightly too cautious below.
 *
 * @example
 * grubbsTest([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57], { side: 'upper' });
 * // available, value 245.57, statistic 2.4687…, criticalValue 2.0316…, isOutlier true
 */
export function grubbsTest(values: readonly number[], options: GrubbsTestOptions = {}): Outcome<GrubbsTest> {
  const { side = 'two-sided', confidence = 0.95 } = options;
  requireName(side, ['two-sided', 'upper', 'lower'], 'options.side');
  requireConfidence(confidence, 'options.confidence');
  const found = deviationsOf(values);
  if (!found.available) return found;
  const count = values.length;
  const index = farthest(found, side);
  const statistic = Math.abs(found.deviations[index]!);
  const tails = count * (side === 'two-sided' ? 2 : 1);
  const criticalValue = criticalDeviate((1 - confidence) / tails, count);
  const isOutlier = statistic > criticalValue;
  return {
    available: true,
    method: 'Grubbs',
    side,
    count,
    index,
    value: values[index]!,
    statistic,
    criticalValue,
    pValue: Math.min(1, tails * deviateTail(statistic, count)),
    isOutlier,
    message: outlierAdvice(isOutlier ? 1 : 0),
  };
}

function farthest({ deviations }: Deviations, side: 'two-sided' | 'upper' | 'lower'): number {
  const score = (deviation: number) =>
    side === 'upper' ? deviation : side === 'lower' ? -deviation : Math.abs(deviation);
  let best = 0;
  for (let index = 1; index < deviations.length; index++)
    if (score(deviations[index]!) > score(deviations[best]!)) best = index;
  return best;
}

/** Value that one given reading's distance exceeds with the probability. */
export function criticalDeviate(probability: number, count: number): number {
  const t = -studentTQuantile(Math.min(0.5, probability), count - 2);
  return (count - 1) / Math.sqrt(count * (1 + (count - 2) / (t * t)));
}

/** Probability that one given reading lies so far above the mean. */
function deviateTail(deviate: number, count: number): number {
  const largest = (count - 1) / Math.sqrt(count);
  const room = (largest - deviate) * (largest + deviate);
  return room <= 0 ? 0 : studentTUpperTail(deviate * Math.sqrt((count - 2) / room), count - 2);
}
