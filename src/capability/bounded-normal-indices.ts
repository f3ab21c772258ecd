import type { BoundedIndex } from './bounded-index.ts';
import {
  type IndexInterval,
  oneSidedIndexInterval,
  smallestIndexInterval,
  toleranceIndexInterval,
} from './index-interval.ts';
import { normalIndices } from './normal-indices.ts';
import type { EffectiveLimits } from './specification.ts';

/** What is known of a normal process from a sample. */
export interface NormalSample {
  /** Readings behind the mean. */
  readonly sampleSize: number;
  readonly mean: number;
  readonly standardDeviation: number;
  readonly degreesOfFreedom: number;
  /** The standard deviation is a root of a chi-square variance with these degrees of freedom, independent of the mean. */
  readonly isChiSquare: boolean;
}

export type NormalIndex = BoundedIndex & IndexInterval;

/** The indices of a normal sample with their bounds; only the index of two sides at once (Bissell) is never exact. */
export function boundedNormalIndices(sample: NormalSample, limits: EffectiveLimits, confidence: number) {
  const { sampleSize, degreesOfFreedom, isChiSquare } = sample;
  const { tolerance, lower, upper, smallest } = normalIndices(sample.mean, sample.standardDeviation, limits);
  const options = { sampleSize, degreesOfFreedom, confidence };
  const index = (estimate: number, interval: IndexInterval): NormalIndex => ({
    ...interval,
    estimate,
    sampleSize,
    exact: isChiSquare && interval.method !== 'Bissell',
  });
  const oneSided = (estimate: number) => index(estimate, oneSidedIndexInterval(estimate, options));
  return {
    tolerance: tolerance === null ? null : index(tolerance, toleranceIndexInterval(tolerance, options)),
    lower: lower === null ? null : oneSided(lower),
    upper: upper === null ? null : oneSided(upper),
    smallest:
      tolerance === null ? oneSided(smallest) : index(smallest, smallestIndexInterval(smallest, options)),
  };
}
