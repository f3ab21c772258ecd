import { requireConfidence, requireFiniteValues, requireName } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { monotoneRoot } from '../numerics/root.ts';
import { type DixonRatio, dixonRatio, dixonTail } from './dixon-tail.ts';
import { outlierAdvice } from './outlier-advice.ts';

export interface DixonTestOptions {
  /** Which reading is suspected: the end with the larger ratio, the largest, the smallest. Default 'two-sided'. */
  readonly side?: 'two-sided' | 'upper' | 'lower';
  /** 1 − the chance that a sample without an outlier is called to have one, 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
}

export interface DixonTest {
  readonly method: 'Dixon';
  readonly ratio: DixonRatio['name'];
  readonly side: 'two-sided' | 'upper' | 'lower';
  readonly count: number;
  /** The suspected reading: its index and value. */
  readonly index: number;
  readonly value: number;
  /** Gap beside the suspected reading over the span, 0 … 1. */
  readonly statistic: number;
  readonly criticalValue: number;
  /** Two-sided: twice the one-sided one, so at most a little too large. */
  readonly pValue: number;
  readonly isOutlier: boolean;
  readonly message: string;
}

/**
 * Does the reading at one end of a small sample stand too far apart to belong to the same normal population? Compares
 * the gap beside it with the span of the readings.
 *
 * @param values  3 … 30 finite readings in one unit.
 * @returns       statistic and critical value, dimensionless, the latter by quadrature (not from a table), to 1e-8;
 *                Unavailable `no-variation` where the span is 0.
 * @throws        StatisticsError `empty`, `too-few-values`, `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: W. J. Dixon, Biometrics 9 (1953) 74-89, ratios r10 (n to 7), r11 (to 10), r21 (to 13), r22 (to 30).
 *
 * @example
 * dixonTest([5.1, 4.9, 5.0, 5.2, 6.4], { side: 'upper' });
 * // available, ratio "r10", statistic 0.8…, criticalValue 0.642…, isOutlier true
 */
export function dixonTest(values: readonly number[], options: DixonTestOptions = {}): Outcome<DixonTest> {
  const { side = 'two-sided', confidence = 0.95 } = options;
  requireName(side, ['two-sided', 'upper', 'lower'], 'options.side');
  requireConfidence(confidence, 'options.confidence');
  requireFiniteValues(values, 'values', 3);
  const count = values.length;
  if (count > 30)
    throw new StatisticsError(
      'out-of-range',
      'values',
      count,
      'Dixon’s ratios are for at most 30 readings. Use grubbsTest or generalizedDeviateTest.',
    );
  const { name, gap, leftOut } = dixonRatio(count);
  const sorted = Float64Array.from(values).sort();
  const ratioAt = (from: (place: number) => number) => {
    // Halves, so that readings at both ends of the range of numbers do not overflow.
    const span = from(0) / 2 - from(count - 1 - leftOut) / 2;
    return span === 0 ? null : (from(0) / 2 - from(gap) / 2) / span;
  };
  const upper = ratioAt((place) => sorted[count - 1 - place]!);
  const lower = ratioAt((place) => sorted[place]!);
  if ((side !== 'lower' && upper === null) || (side !== 'upper' && lower === null))
    return {
      available: false,
      reason: 'no-variation',
      message:
        'The readings of the span are all equal, so none can be compared with it. Check that the gauge resolves them.',
    };
  const isUpper = side === 'upper' || (side === 'two-sided' && upper! >= lower!);
  const statistic = (isUpper ? upper : lower)!;
  const value = isUpper ? sorted[count - 1]! : sorted[0]!;
  const sides = side === 'two-sided' ? 2 : 1;
  const criticalValue = criticalRatio((1 - confidence) / sides, count);
  const isOutlier = statistic > criticalValue;
  return {
    available: true,
    method: 'Dixon',
    ratio: name,
    side,
    count,
    index: values.indexOf(value),
    value,
    statistic,
    criticalValue,
    pValue: Math.min(1, sides * dixonTail(statistic, count)),
    isOutlier,
    message: outlierAdvice(isOutlier ? 1 : 0),
  };
}

/**
 * The ratio that a normal sample exceeds at its upper end with the probability. The logarithm of the tail is nearly
 * straight in that of 1 − ratio, so the search takes few steps.
 */
export function criticalRatio(probability: number, count: number): number {
  const root = monotoneRoot(
    (depth) => Math.log(dixonTail(-Math.expm1(-depth), count) + 1e-300) - Math.log(probability),
    0,
    1,
  );
  return -Math.expm1(-Math.max(0, root ?? 0));
}
