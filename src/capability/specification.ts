import { StatisticsError, type Unavailable } from '../errors.ts';

/** What the drawing asks of a characteristic, in its unit. Never a control limit. */
export interface SpecificationLimits {
  /** null: there is none on this side. */
  readonly lowerSpecificationLimit: number | null;
  /** null: there is none on this side. */
  readonly upperSpecificationLimit: number | null;
  /** Where the values should lie; needed for Cpm only. */
  readonly target?: number | null;
  /** Values that the characteristic cannot pass by its nature, such as 0 for a runout. */
  readonly lowerNaturalBound?: number | null;
  /** Likewise above. */
  readonly upperNaturalBound?: number | null;
}

/** The limits that a value can really violate. At least one is a number. */
export interface EffectiveLimits {
  readonly lower: number | null;
  readonly upper: number | null;
}

/**
 * Checks a specification and drops a limit at or beyond a natural bound: nothing lies beyond the bound, so nothing
 * can violate that limit and the specification is one-sided, whatever the drawing prints.
 *
 * @throws StatisticsError `not-finite`, `limits-reversed`, `target-outside`, naming the field.
 */
export function effectiveLimits(specification: SpecificationLimits): EffectiveLimits | Unavailable {
  const {
    lowerSpecificationLimit: lower,
    upperSpecificationLimit: upper,
    target = null,
    lowerNaturalBound = null,
    upperNaturalBound = null,
  } = specification;
  for (const [name, value] of Object.entries({
    lowerSpecificationLimit: lower,
    upperSpecificationLimit: upper,
    target,
    lowerNaturalBound,
    upperNaturalBound,
  })) {
    if (value !== null && !Number.isFinite(value))
      throw new StatisticsError('not-finite', `specification.${name}`, value);
  }
  if (lower !== null && upper !== null && lower >= upper)
    throw new StatisticsError(
      'limits-reversed',
      'specification.upperSpecificationLimit',
      upper,
      'The upper specification limit must be greater than the lower one.',
    );
  if (lowerNaturalBound !== null && upperNaturalBound !== null && lowerNaturalBound >= upperNaturalBound)
    throw new StatisticsError(
      'limits-reversed',
      'specification.upperNaturalBound',
      upperNaturalBound,
      'The upper natural bound must be greater than the lower one.',
    );
  if (target !== null && ((lower !== null && target < lower) || (upper !== null && target > upper)))
    throw new StatisticsError('target-outside', 'specification.target', target);
  const limits = {
    lower: lower !== null && lowerNaturalBound !== null && lower <= lowerNaturalBound ? null : lower,
    upper: upper !== null && upperNaturalBound !== null && upper >= upperNaturalBound ? null : upper,
  };
  if (limits.lower === null && limits.upper === null)
    return {
      available: false,
      reason: 'no-specification-limit',
      message: 'There is no specification limit that a value could violate. Enter one in Setup.',
    };
  return limits;
}
