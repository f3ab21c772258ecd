import { type Outcome, StatisticsError } from '../errors.ts';
import { type EffectiveLimits, effectiveLimits, type SpecificationLimits } from './specification.ts';

/** Three quantiles of a distribution, in the unit of the specification. */
export interface DistributionPercentiles {
  /** 0.135 % of the parts lie below it. */
  readonly lowerPercentile: number;
  readonly median: number;
  /** 99.865 % of the parts lie below it. */
  readonly upperPercentile: number;
}

/**
 * Indices of a distribution that is given by its quantiles, whatever its shape. They belong to that distribution
 * and carry no sampling error; those of a fitted one need bounds before anyone quotes them.
 */
export interface PercentileIndices {
  readonly tolerance: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly smallest: number;
}

/**
 * Percentile form of the indices, for a distribution that is not normal: (U − L)/(X99.865 − X0.135),
 * (X50 − L)/(X50 − X0.135), (U − X50)/(X99.865 − X50).
 *
 * @returns dimensionless; null for a missing limit. Unavailable `no-specification-limit`.
 * @throws  StatisticsError `not-finite`, `limits-reversed`, `out-of-range`, naming the field.
 *
 * Source: ISO 22514-4, percentile method.
 *
 * @example
 * percentileIndices({ lowerPercentile: 0.12, median: 7.83, upperPercentile: 35.2 },
 *   { lowerSpecificationLimit: null, upperSpecificationLimit: 40 });
 * // available, smallest 1.175…
 */
export function percentileIndices(
  percentiles: DistributionPercentiles,
  specification: SpecificationLimits,
): Outcome<PercentileIndices> {
  const { lowerPercentile, median, upperPercentile } = percentiles;
  for (const [name, value] of Object.entries({ lowerPercentile, median, upperPercentile })) {
    if (!Number.isFinite(value)) throw new StatisticsError('not-finite', `percentiles.${name}`, value);
  }
  if (!(lowerPercentile < median && median < upperPercentile))
    throw new StatisticsError(
      'limits-reversed',
      'percentiles.median',
      median,
      'Give the percentiles in ascending order.',
    );
  const limits = effectiveLimits(specification);
  if ('available' in limits) return limits;
  const indices = ordinaryIndices(percentiles, limits);
  for (const index of Object.values(indices))
    if (index !== null && !(Math.abs(index) < 1e100))
      throw new StatisticsError(
        'out-of-range',
        'percentiles',
        percentiles,
        'The percentiles lie too close together, or too far from the limits, to compute with.',
      );
  return { available: true, ...indices };
}

/** The indices of percentiles that are in order. */
export function ordinaryIndices(
  { lowerPercentile, median, upperPercentile }: DistributionPercentiles,
  limits: EffectiveLimits,
): PercentileIndices {
  const lower = limits.lower === null ? null : (median - limits.lower) / (median - lowerPercentile);
  const upper = limits.upper === null ? null : (limits.upper - median) / (upperPercentile - median);
  const tolerance =
    limits.lower === null || limits.upper === null
      ? null
      : (limits.upper - limits.lower) / (upperPercentile - lowerPercentile);
  return { tolerance, lower, upper, smallest: Math.min(lower ?? upper!, upper ?? lower!) };
}
