import type { IndexIntervalMethod } from './index-interval.ts';

export type IndexBoundMethod =
  | IndexIntervalMethod
  | 'generalised interval'
  | 'percentile bootstrap'
  | 'BCa bootstrap'
  | 'bias-corrected bootstrap'
  | 'Clopper-Pearson';

/** An index, never without what it stands on. Dimensionless. */
export interface BoundedIndex {
  readonly estimate: number;
  /** Values behind it. */
  readonly sampleSize: number;
  readonly method: IndexBoundMethod;
  readonly confidence: number;
  /** Two-sided: the true index lies between them with the confidence. */
  readonly lower: number;
  readonly upper: number;
  /** One-sided: the true index is above (below) it with the confidence. */
  readonly lowerBound: number;
  readonly upperBound: number;
  /** The bounds hold exactly under the stated distribution; otherwise they are approximations. */
  readonly exact: boolean;
}
