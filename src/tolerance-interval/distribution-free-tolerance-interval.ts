import { requireFiniteValues, requireName } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import {
  achieved,
  type DistributionFreeTolerance,
  distributionFreeTolerance,
  reaches,
} from './distribution-free-tolerance.ts';
import { type IntervalSide, intervalSides } from './mean-and-spread.ts';
import { toleranceSampleSize } from './tolerance-sample-size.ts';

export interface DistributionFreeToleranceIntervalOptions {
  /** 0.001 … 1 − 1e-9. */
  readonly coverage: number;
  /** Default 0.95. */
  readonly confidence?: number;
  /** Default 'two-sided'. */
  readonly side?: IntervalSide;
}

export interface DistributionFreeToleranceInterval extends DistributionFreeTolerance {
  readonly side: IntervalSide;
  /** null on a side without a limit. */
  readonly lower: number | null;
  readonly upper: number | null;
}

/**
 * Statistical tolerance interval without any assumption about the shape of the distribution: between two ordered
 * readings, the innermost that still give the confidence (two-sided: as many left out below as above).
 *
 * @param values  finite readings from one stable process.
 * @returns       limits in the unit of the values; Unavailable `too-few-values` with the number that is needed.
 * @throws        StatisticsError `empty`, `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: ISO 16269-6; Wilks, Annals of Mathematical Statistics 12 (1941) 91-96.
 *
 * @example
 * distributionFreeToleranceInterval([3, 1, 4, 1.5, 9, 2, 6, 5, 3.5, 8], { coverage: 0.7, side: 'upper' });
 * // available, upper 9, upperRankFromTop 1, achievedConfidence 0.971…
 */
export function distributionFreeToleranceInterval(
  values: readonly number[],
  options: DistributionFreeToleranceIntervalOptions,
): Outcome<DistributionFreeToleranceInterval> {
  const { coverage, confidence = 0.95, side = 'two-sided' } = options;
  requireFiniteValues(values, 'values');
  requireName(side, intervalSides, 'options.side');
  const each = side === 'two-sided' ? 2 : 1;
  const needed = toleranceSampleSize({ coverage, confidence, ranks: each });
  if (!needed.available) return needed;
  if (values.length < needed.sampleSize)
    return {
      available: false,
      reason: 'too-few-values',
      message: `Even the extremes of ${values.length} readings do not give this confidence: at least ${needed.sampleSize} readings are needed.`,
    };
  // The achieved confidence falls with the rank: bisection for the last one that suffices.
  let rank = 1;
  let over = Math.floor(values.length / each) + 1;
  while (over - rank > 1) {
    const middle = Math.floor((rank + over) / 2);
    if (reaches(achieved(values.length, middle * each, coverage), confidence)) rank = middle;
    else over = middle;
  }
  const lowerRank = side === 'upper' ? 0 : rank;
  const upperRankFromTop = side === 'lower' ? 0 : rank;
  const sorted = Float64Array.from(values).sort();
  return {
    available: true,
    ...distributionFreeTolerance({
      sampleSize: values.length,
      lowerRank,
      upperRankFromTop,
      coverage,
      confidence,
    }),
    side,
    lower: lowerRank === 0 ? null : sorted[lowerRank - 1]!,
    upper: upperRankFromTop === 0 ? null : sorted[values.length - upperRankFromTop]!,
  };
}
