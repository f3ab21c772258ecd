import { requireConfidence, requireWhole } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { betaQuantile, betaUpperTail } from '../numerics/beta.ts';

export interface DistributionFreeToleranceOptions {
  /** Readings, 1 … 1e9. */
  readonly sampleSize: number;
  /** The interval begins at the reading of this rank from below; 0: it has no lower limit. Default 1. */
  readonly lowerRank?: number;
  /** It ends at the reading of this rank from above; 0: it has no upper limit. Default 1. */
  readonly upperRankFromTop?: number;
  /** Share of all future readings that the interval is to hold, 0.001 … 1 − 1e-9. */
  readonly coverage: number;
  /** Default 0.95. */
  readonly confidence?: number;
}

export interface DistributionFreeTolerance {
  readonly method: 'order statistics';
  readonly sampleSize: number;
  readonly lowerRank: number;
  readonly upperRankFromTop: number;
  readonly coverage: number;
  readonly confidence: number;
  /** Confidence that the interval holds the coverage. */
  readonly achievedConfidence: number;
  /** Largest coverage that the interval holds with the confidence. */
  readonly coverageReached: number;
  /** Whether the achieved confidence is at least the one asked for. */
  readonly sufficient: boolean;
}

/**
 * What an interval between two ordered readings holds, whatever the (continuous) distribution: the share between them
 * has a beta distribution with parameters n + 1 − r − s and r + s.
 *
 * @throws  StatisticsError `not-finite`, `not-an-integer`, `out-of-range` (options.…): the ranks together must be at
 *          least 1 and at most the sample size.
 *
 * Source: ISO 16269-6, clause on distribution-free intervals; Wilks, Annals of Mathematical Statistics 12 (1941) 91-96.
 *
 * @example
 * distributionFreeTolerance({ sampleSize: 93, coverage: 0.95 });
 * // achievedConfidence 0.9500…, coverageReached 0.9500…, sufficient true
 */
export function distributionFreeTolerance(
  options: DistributionFreeToleranceOptions,
): DistributionFreeTolerance {
  const { sampleSize, lowerRank = 1, upperRankFromTop = 1, coverage, confidence = 0.95 } = options;
  requireWhole(sampleSize, 1, 1e9, 'options.sampleSize');
  requireWhole(lowerRank, 0, sampleSize, 'options.lowerRank');
  requireWhole(upperRankFromTop, 0, sampleSize, 'options.upperRankFromTop');
  const left = lowerRank + upperRankFromTop;
  if (left < 1 || left > sampleSize)
    throw new StatisticsError(
      'out-of-range',
      'options.lowerRank',
      lowerRank,
      'The two ranks together must be at least 1 and at most the sample size.',
    );
  requireConfidence(coverage, 'options.coverage');
  requireConfidence(confidence, 'options.confidence');
  const achievedConfidence = achieved(sampleSize, left, coverage);
  return {
    method: 'order statistics',
    sampleSize,
    lowerRank,
    upperRankFromTop,
    coverage,
    confidence,
    achievedConfidence,
    coverageReached: betaQuantile(1 - confidence, sampleSize + 1 - left, left),
    sufficient: reaches(achievedConfidence, confidence),
  };
}

/** A confidence met exactly counts as reached, whatever the last rounding. */
export function reaches(achievedConfidence: number, confidence: number): boolean {
  return achievedConfidence >= confidence - 1e-12 * (1 - confidence);
}

/** Confidence that all but `left` of the n + 1 gaps between ordered readings hold the coverage. */
export function achieved(sampleSize: number, left: number, coverage: number): number {
  return betaUpperTail(coverage, sampleSize + 1 - left, left);
}
