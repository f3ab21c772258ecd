import { requireConfidence, requireFiniteValues, requireSameLength } from '../checks.ts';
import { type Available, type Outcome, StatisticsError } from '../errors.ts';
import { fUpperTail } from '../numerics/f-distribution.ts';
import { type LeastSquares, leastSquares } from '../numerics/least-squares.ts';
import type { Matrix } from '../numerics/matrix.ts';
import { studentTQuantile, studentTUpperTail } from '../numerics/student-t.ts';

export interface LinearRegressionOptions {
  /** Whether a constant is fitted beside the predictors. Default true. */
  readonly intercept?: boolean;
  /** Of the intervals for the coefficients, 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
}

export interface RegressionCoefficient {
  readonly estimate: number;
  readonly standardError: number;
  readonly lower: number;
  readonly upper: number;
  /** Of the hypothesis that the coefficient is 0, two-sided; null where the fit leaves no residuals. */
  readonly pValue: number | null;
}

export interface LinearRegression {
  readonly method: 'least squares';
  readonly count: number;
  readonly confidence: number;
  readonly intercept: boolean;
  /** The intercept first, where there is one, then one for each predictor. */
  readonly coefficients: readonly RegressionCoefficient[];
  readonly residuals: readonly number[];
  readonly residualSumOfSquares: number;
  readonly residualStandardDeviation: number;
  readonly degreesOfFreedom: number;
  /** About the mean of the values with an intercept, about 0 without. */
  readonly regressionSumOfSquares: number;
  readonly rSquared: number;
  /** Of the hypothesis that no predictor matters; null where the fit leaves no residuals. */
  readonly fRatio: number | null;
  readonly pValue: number | null;
  /** Covariance of the coefficients over the residual variance. */
  readonly inverseNormalMatrix: Matrix;
}

/**
 * Straight line, polynomial or several predictors, fitted by least squares, with intervals for the coefficients.
 *
 * Computed in arithmetic of 32 digits: designs that are nearly dependent (powers, calendar years) keep the digits that
 * the data hold (tests/reference/strd-regression.test.ts prints how many).
 *
 * @param predictors  one entry a value: a number, or a list of 1 … 50 numbers (for a polynomial the powers of x).
 * @param values      finite numbers, more of them than coefficients; the size of the task is limited to
 *                    values · coefficients² ≤ 2e7.
 * @returns           coefficients in the unit of the values over that of the predictor. Unavailable
 *                    `singular-covariance` where a predictor depends on the others, `no-variation` where all values
 *                    are equal.
 * @throws            StatisticsError `empty`, `too-few-values`, `not-finite` (with indices), `sizes-differ`,
 *                    `out-of-range` (also where results leave the range of numbers).
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1; Draper and Smith, Applied Regression Analysis,
 * chapters 1 and 5.
 *
 * @example
 * linearRegression([1, 2, 3, 4], [2.1, 3.9, 6.2, 7.8]);
 * // available, coefficients[1].estimate 1.94, rSquared 0.9956…
 */
export function linearRegression(
  predictors: readonly (number | readonly number[])[],
  values: readonly number[],
  options: LinearRegressionOptions = {},
): Outcome<LinearRegression> {
  const { intercept = true, confidence = 0.95 } = options;
  requireConfidence(confidence, 'options.confidence');
  requireFiniteValues(values, 'values');
  requireSameLength(predictors.length, values.length, 'predictors', 'values');
  const design = designMatrix(predictors, intercept);
  const columns = design[0]!.length;
  requireFiniteValues(values, 'values', columns + 1);
  if (values.length * columns ** 2 > 2e7)
    throw new StatisticsError(
      'out-of-range',
      'values',
      values.length,
      'values · coefficients² must stay below 2e7.',
    );
  // Values of everyday size: a power of two changes no digit, and squares neither overflow nor vanish.
  const unit = magnitude(values);
  const fit = leastSquares(
    design,
    values.map((value) => value / unit),
  );
  if (fit === null)
    return {
      available: false,
      reason: 'singular-covariance',
      message:
        'A predictor is constant or follows from the others, so their effects cannot be told apart. Leave one out, or measure at more settings.',
    };
  const predicted = fit.sequentialSumsOfSquares.slice(intercept ? 1 : 0);
  const regression = predicted.reduce((sum, part) => sum + part, 0);
  const total = regression + fit.residualSumOfSquares;
  if (total === 0)
    return {
      available: false,
      reason: 'no-variation',
      message: 'All values are equal: there is nothing for the predictors to explain.',
    };
  const fRatio = regression / predicted.length / (fit.residualSumOfSquares / fit.degreesOfFreedom);
  const known = Number.isFinite(fRatio);
  return requireInRange<Available<LinearRegression>>({
    available: true,
    method: 'least squares',
    count: values.length,
    confidence,
    intercept,
    coefficients: coefficientsOf(fit, confidence, unit),
    residuals: fit.residuals.map((residual) => residual * unit),
    residualSumOfSquares: fit.residualSumOfSquares * unit * unit,
    residualStandardDeviation: fit.residualStandardDeviation * unit,
    degreesOfFreedom: fit.degreesOfFreedom,
    regressionSumOfSquares: regression * unit * unit,
    rSquared: regression / total,
    fRatio: known ? fRatio : null,
    pValue: known ? fUpperTail(fRatio, predicted.length, fit.degreesOfFreedom) : null,
    inverseNormalMatrix: fit.inverseNormalMatrix,
  });
}

function designMatrix(predictors: readonly (number | readonly number[])[], intercept: boolean): number[][] {
  const size = typeof predictors[0] === 'number' ? 1 : predictors[0]!.length;
  return predictors.map((entry, index) => {
    const row = typeof entry === 'number' ? [entry] : entry;
    requireSameLength(row.length, size, `predictors.${index}`, 'predictors.0');
    requireFiniteValues(row, `predictors.${index}`);
    if (row.length > 50)
      throw new StatisticsError(
        'out-of-range',
        `predictors.${index}`,
        row.length,
        'At most 50 predictors are fitted.',
      );
    return intercept ? [1, ...row] : [...row];
  });
}

function coefficientsOf(fit: LeastSquares, confidence: number, unit: number): RegressionCoefficient[] {
  const multiple = -studentTQuantile((1 - confidence) / 2, fit.degreesOfFreedom);
  return fit.coefficients.map((coefficient, index) => {
    const [estimate, standardError] = [coefficient * unit, fit.standardErrors[index]! * unit];
    const t = Math.abs(coefficient / fit.standardErrors[index]!);
    return {
      estimate,
      standardError,
      lower: estimate - multiple * standardError,
      upper: estimate + multiple * standardError,
      pValue: Number.isFinite(t) ? 2 * studentTUpperTail(t, fit.degreesOfFreedom) : null,
    };
  });
}

function magnitude(values: readonly number[]): number {
  let largest = 0;
  for (const value of values) largest = Math.max(largest, Math.abs(value));
  return largest === 0 ? 1 : 2 ** Math.max(-1000, Math.floor(Math.log2(largest)));
}

/** The result, or an error where a number in it has left the range. */
function requireInRange<Result>(result: Result): Result {
  const finite = (entry: unknown): boolean =>
    typeof entry === 'number'
      ? Number.isFinite(entry)
      : typeof entry !== 'object' || entry === null || Object.values(entry).every(finite);
  if (finite(result)) return result;
  throw new StatisticsError(
    'out-of-range',
    'values',
    null,
    'The results leave the range of numbers. Use other units for the values or the predictors.',
  );
}
