import { requireConfidence } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { fLowerTail, fQuantile, fUpperTail } from '../numerics/f-distribution.ts';
import { noSpread } from './no-spread.ts';
import { type Sample, type SampleSummary, summaryOf } from './sample.ts';
import { studentVerdict } from './test-side.ts';

export interface TwoSampleComparisonOptions {
  /** 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
}

export interface DifferenceTest {
  readonly statistic: number;
  readonly degreesOfFreedom: number;
  readonly standardError: number;
  /** Two-sided. */
  readonly pValue: number;
  /** Beyond it, in size, the difference is significant two-sided; beyond the next one, on the side asked for. */
  readonly criticalValue: number;
  readonly oneSidedCriticalValue: number;
  /** Limits of the true difference. */
  readonly lower: number;
  readonly upper: number;
}

export interface VarianceRatioTest {
  /** Variance of the first sample over that of the second. */
  readonly ratio: number;
  readonly degreesOfFreedom: readonly [first: number, second: number];
  readonly pValue: number;
  readonly lower: number;
  readonly upper: number;
}

export interface TwoSampleComparison {
  readonly method: 'two samples by t and F';
  readonly counts: readonly [first: number, second: number];
  readonly confidence: number;
  /** Mean of the first less mean of the second. */
  readonly difference: number;
  /** Without assuming equal standard deviations: the one to use unless they are known to be equal. */
  readonly welch: DifferenceTest;
  readonly pooled: DifferenceTest & { readonly pooledStandardDeviation: number };
  /** null where a sample has no spread. */
  readonly varianceRatio: VarianceRatioTest | null;
  readonly message: string;
}

/**
 * Do two normal samples (before and after the die change) differ in mean or in spread?
 *
 * @param first   2 or more finite readings, or count, mean and standard deviation.
 * @param second  likewise, in the same unit.
 * @returns       differences in that unit; Unavailable `no-variation` where neither sample has any spread.
 * @throws        StatisticsError `empty`, `too-few-values`, `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.3 and 1.3.5.9; B. L. Welch, Biometrika 34 (1947) 28-35.
 *
 * @example
 * twoSampleComparison([12.1, 12.3, 12.2, 12.4], [12.0, 12.1, 12.1, 11.9]);
 * // available, difference 0.225, welch.pValue 0.0340…, pooled.degreesOfFreedom 6
 */
export function twoSampleComparison(
  first: Sample,
  second: Sample,
  options: TwoSampleComparisonOptions = {},
): Outcome<TwoSampleComparison> {
  const { confidence = 0.95 } = options;
  requireConfidence(confidence, 'options.confidence');
  const [one, other] = [summaryOf(first, 'first'), summaryOf(second, 'second')];
  if (one.standardDeviation === 0 && other.standardDeviation === 0) return noSpread;
  const difference = one.mean - other.mean;
  const test = (standardError: number, degreesOfFreedom: number): DifferenceTest => {
    const statistic = difference / standardError;
    const { criticalValue, pValue } = studentVerdict(statistic, degreesOfFreedom, 'two-sided', confidence);
    const width = criticalValue * standardError;
    return {
      statistic,
      degreesOfFreedom,
      standardError,
      pValue,
      criticalValue,
      oneSidedCriticalValue: studentVerdict(statistic, degreesOfFreedom, 'upper', confidence).criticalValue,
      lower: difference - width,
      upper: difference + width,
    };
  };
  const welch = test(...welchError(one, other));
  const freedom = one.count + other.count - 2;
  const pooledStandardDeviation = Math.sqrt(
    ((one.count - 1) * one.standardDeviation ** 2 + (other.count - 1) * other.standardDeviation ** 2) /
      freedom,
  );
  const pooled = test(pooledStandardDeviation * Math.sqrt(1 / one.count + 1 / other.count), freedom);
  return {
    available: true,
    method: 'two samples by t and F',
    counts: [one.count, other.count],
    confidence,
    difference,
    welch,
    pooled: { ...pooled, pooledStandardDeviation },
    varianceRatio:
      one.standardDeviation > 0 && other.standardDeviation > 0 ? varianceRatio(one, other, confidence) : null,
    message:
      welch.pValue < 1 - confidence
        ? 'The means differ by more than chance explains: look for what changed, and whether the difference matters to the part.'
        : 'The difference of the means may be chance. This does not prove them equal: read the interval for how large it may still be.',
  };
}

/** Standard error of the difference, and its degrees of freedom after Welch and Satterthwaite. */
function welchError(
  one: SampleSummary,
  other: SampleSummary,
): [standardError: number, degreesOfFreedom: number] {
  const [a, b] = [one.standardDeviation ** 2 / one.count, other.standardDeviation ** 2 / other.count];
  // As shares, which do not overflow when squared.
  const [p, q] = [a / (a + b), b / (a + b)];
  return [Math.sqrt(a + b), 1 / (p ** 2 / (one.count - 1) + q ** 2 / (other.count - 1))];
}

function varianceRatio(one: SampleSummary, other: SampleSummary, confidence: number): VarianceRatioTest {
  const ratio = (one.standardDeviation / other.standardDeviation) ** 2;
  const [numerator, denominator] = [one.count - 1, other.count - 1];
  const half = (1 - confidence) / 2;
  return {
    ratio,
    degreesOfFreedom: [numerator, denominator],
    pValue: Math.min(
      1,
      2 * Math.min(fLowerTail(ratio, numerator, denominator), fUpperTail(ratio, numerator, denominator)),
    ),
    lower: ratio * fQuantile(half, denominator, numerator),
    upper: ratio / fQuantile(half, numerator, denominator),
  };
}
