import { normalLowerTail, normalUpperTail } from '../numerics/normal.ts';
import type { EffectiveLimits } from './specification.ts';

/** Indices of a normal distribution whose mean and standard deviation are known; null for a missing limit. */
export interface NormalIndices {
  readonly tolerance: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  /** The smaller of lower and upper. */
  readonly smallest: number;
}

/** Expected fraction of parts outside the specification, 0 … 1; null for a missing limit. */
export interface ExpectedNonconforming {
  readonly below: number | null;
  readonly above: number | null;
  readonly total: number;
}

export function normalIndices(
  mean: number,
  standardDeviation: number,
  limits: EffectiveLimits,
): NormalIndices {
  const lower = limits.lower === null ? null : (mean - limits.lower) / (3 * standardDeviation);
  const upper = limits.upper === null ? null : (limits.upper - mean) / (3 * standardDeviation);
  const tolerance =
    limits.lower === null || limits.upper === null
      ? null
      : (limits.upper - limits.lower) / (6 * standardDeviation);
  return { tolerance, lower, upper, smallest: Math.min(lower ?? upper!, upper ?? lower!) };
}

export function expectedNonconforming(
  mean: number,
  standardDeviation: number,
  limits: EffectiveLimits,
): ExpectedNonconforming {
  const below = limits.lower === null ? null : normalLowerTail((limits.lower - mean) / standardDeviation);
  const above = limits.upper === null ? null : normalUpperTail((limits.upper - mean) / standardDeviation);
  return { below, above, total: (below ?? 0) + (above ?? 0) };
}
