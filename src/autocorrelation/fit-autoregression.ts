import { requireFinite } from '../checks.ts';
import { type Outcome, StatisticsError, type Unavailable } from '../errors.ts';
import { leastSquares } from '../numerics/least-squares.ts';
import { statisticsOf } from '../samples/subgroup-statistics.ts';

/** A process that remembers its last value: xₜ = mean + coefficient · (xₜ₋₁ − mean) + residual. */
export interface Autoregression {
  /** In the unit of the values. */
  readonly mean: number;
  /** φ, between −1 and 1: the share of a deviation that is left at the next value. */
  readonly coefficient: number;
  /** Of what the last value does not explain, > 0, in the unit of the values. */
  readonly residualStandardDeviation: number;
}

export interface FittedAutoregression extends Autoregression {
  readonly coefficientStandardError: number;
  /** Pairs of neighbouring values that the fit rests on. */
  readonly pairs: number;
}

/**
 * First-order autoregression of a series by least squares of each value on the one before. The residual standard deviation
 * has pairs − 2 degrees of freedom. In short series the coefficient comes out too small by about (1 + 3φ)/n.
 *
 * @param values  numbers in time order, equally spaced, one unit; null for a missing value, which leaves no pair across it.
 * @returns       the fitted model; Unavailable `too-few-values` for fewer than 4 pairs, `no-variation`, `outside-method`
 *                where the coefficient is not between −1 and 1: such a process has no level to return to.
 * @throws        StatisticsError `empty`, `not-finite` (names the value), `out-of-range`.
 *
 * Source: ISO 7870-9; Box and Jenkins, Time Series Analysis, 1976, section 7.3 (conditional least squares); bias after
 * Kendall, Biometrika 41, 1954.
 *
 * @example
 * fitAutoregression([0, 2, 1, 3, 2, 2, 0, 1, 3, 1]);
 * // available, coefficient -0.228…, pairs 9
 */
export function fitAutoregression(values: readonly (number | null)[]): Outcome<FittedAutoregression> {
  if (values.length === 0) throw new StatisticsError('empty', 'values', values);
  values.forEach((value, index) => {
    if (value !== null) requireFinite(value, `values.${index}`);
  });
  const { mean: origin, standardDeviation } = statisticsOf(values, 'values');
  const design: (readonly [number, number])[] = [];
  const responses: number[] = [];
  for (let index = 1; index < values.length; index++) {
    const before = values[index - 1];
    const value = values[index];
    if (before == null || value == null) continue;
    // In standard deviations from the mean, so that no unit is too large or too small.
    design.push([1, (before - origin!) / (standardDeviation || 1)]);
    responses.push((value - origin!) / (standardDeviation || 1));
  }
  if (responses.length < 4)
    return {
      available: false,
      reason: 'too-few-values',
      message: 'The fit needs at least 4 pairs of neighbouring values. Measure more.',
    };
  if (standardDeviation === 0) return noVariation;
  const fit = leastSquares(design, responses);
  if (fit === null || fit.residualStandardDeviation < 1e-12) return noVariation;
  const [intercept, coefficient] = fit.coefficients as [number, number];
  if (!(Math.abs(coefficient) < 1))
    return {
      available: false,
      reason: 'outside-method',
      message: 'The values run away instead of returning to a level. Look for a trend or a step first.',
    };
  const mean = origin! + (intercept / (1 - coefficient)) * standardDeviation!;
  const residualStandardDeviation = fit.residualStandardDeviation * standardDeviation!;
  requireFinite(mean, 'values');
  return {
    available: true,
    mean,
    coefficient,
    residualStandardDeviation,
    coefficientStandardError: fit.standardErrors[1]!,
    pairs: responses.length,
  };
}

const noVariation: Unavailable = {
  available: false,
  reason: 'no-variation',
  message: 'The values show no variation of their own to fit. Check that the gauge resolves it.',
};
