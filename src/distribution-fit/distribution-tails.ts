import { requireFinite, requireFraction } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { functionsOf } from './families.ts';
import type { Distribution } from './fitted-distribution.ts';

/**
 * Fraction of parts at or below x, for a fitted distribution or one with given parameters. Far out in the tail it
 * keeps its relative accuracy: the fraction below a lower specification limit can be read off directly.
 *
 * @param fitted  a distribution: name and parameters, as `fitDistribution` returns them or as known beforehand.
 * @param x       finite, in the unit of the fitted values.
 * @returns       0 to 1; relative error about 1e-13, for a folded normal and gamma distribution 1e-12.
 * @throws        StatisticsError `unknown-name`, `not-finite`, `out-of-range`, naming the field.
 *
 * Source: definitions in ISO 3534-1; the densities stand beside the parameters in `DistributionParameters`.
 *
 * @example
 * distributionLowerTail({ distribution: 'weibull', parameters: { shape: 2.2, scale: 0.4 } }, 0.02);
 * // 0.0013…
 */
export function distributionLowerTail(fitted: Distribution, x: number): number {
  requireFinite(x, 'x');
  return answer(functionsOf(fitted).lowerTail(x), fitted);
}

/**
 * Fraction of parts above x: what lies beyond an upper specification limit. As accurate as `distributionLowerTail`,
 * which 1 − lower tail would not be.
 *
 * @param fitted  a distribution: name and parameters.
 * @param x       finite, in the unit of the fitted values.
 * @returns       0 to 1.
 * @throws        StatisticsError `unknown-name`, `not-finite`, `out-of-range`, naming the field.
 *
 * Source: definitions in ISO 3534-1; the densities stand beside the parameters in `DistributionParameters`.
 *
 * @example
 * distributionUpperTail({ distribution: 'weibull', parameters: { shape: 2.2, scale: 0.4 } }, 1);
 * // 0.00054…
 */
export function distributionUpperTail(fitted: Distribution, x: number): number {
  requireFinite(x, 'x');
  return answer(functionsOf(fitted).upperTail(x), fitted);
}

/**
 * The value below which a fraction of the parts lies, for a fitted distribution or one with given parameters.
 *
 * @param fitted       a distribution: name and parameters.
 * @param probability  between 0 and 1, neither included.
 * @returns            in the unit of the fitted values; relative error about 1e-13 up to 0.5, above as good as
 *                     1 − probability is known.
 * @throws             StatisticsError `unknown-name`, `not-finite`, `out-of-range`, also where the quantile is larger
 *                     than any number, or does not exist (the far end of some Box-Cox powers).
 *
 * Source: ISO 3534-1, quantile.
 *
 * @example
 * distributionQuantile({ distribution: 'rayleigh', parameters: { sigma: 0.045 } }, 0.99865);
 * // 0.1635…
 */
export function distributionQuantile(fitted: Distribution, probability: number): number {
  requireFraction(probability, 'probability');
  return answer(functionsOf(fitted).quantile(probability), fitted);
}

function answer(value: number, { parameters }: Distribution): number {
  if (!Number.isFinite(value))
    throw new StatisticsError(
      'out-of-range',
      'fitted.parameters',
      parameters,
      'With these parameters the answer lies beyond the range of numbers.',
    );
  return value;
}
