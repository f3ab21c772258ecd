import { requireConfidence, requireFiniteValues, requireSameLength } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { studentTQuantile } from '../numerics/student-t.ts';
import type { LinearRegression } from './linear-regression.ts';

export interface RegressionPredictionOptions {
  /** In (0, 1). Default 0.95. */
  readonly confidence?: number;
}

export interface RegressionPrediction {
  readonly value: number;
  readonly confidence: number;
  /** Holds the mean at these predictors with the confidence. */
  readonly meanInterval: readonly [lower: number, upper: number];
  /** Holds one future value at these predictors with the confidence. */
  readonly predictionInterval: readonly [lower: number, upper: number];
}

/**
 * What a fitted regression says about values at new predictors.
 *
 * @param regression  result of linearRegression.
 * @param predictor   a number, or one for each predictor of the regression. Beyond the predictors that were measured
 *                    the answer stands on the model alone.
 * @returns           all in the unit of the values.
 * @throws            StatisticsError `sizes-differ`, `not-finite`, `out-of-range`.
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 4.5.1.1 and 4.5.1.2.
 *
 * @example
 * const regression = linearRegression([1, 2, 3, 4], [2.1, 3.9, 6.2, 7.8]);
 * regressionPrediction(regression, 2.5);
 * // value 5, predictionInterval[0] 4.025…
 */
export function regressionPrediction(
  regression: LinearRegression,
  predictor: number | readonly number[],
  options: RegressionPredictionOptions = {},
): RegressionPrediction {
  const { confidence = 0.95 } = options;
  requireConfidence(confidence, 'options.confidence');
  const given = typeof predictor === 'number' ? [predictor] : predictor;
  const { coefficients, inverseNormalMatrix, intercept } = regression;
  requireSameLength(given.length, coefficients.length - (intercept ? 1 : 0), 'predictor', 'regression');
  requireFiniteValues(given, 'predictor');
  for (const cells of [inverseNormalMatrix, ...inverseNormalMatrix])
    requireSameLength(
      cells.length,
      coefficients.length,
      'regression.inverseNormalMatrix',
      'regression.coefficients',
    );
  const row = intercept ? [1, ...given] : given;
  let value = 0;
  let leverage = 0;
  for (let i = 0; i < row.length; i++) {
    value += row[i]! * coefficients[i]!.estimate;
    for (let j = 0; j < row.length; j++) leverage += row[i]! * row[j]! * inverseNormalMatrix[i]![j]!;
  }
  leverage = Math.max(0, leverage);
  const multiple =
    -studentTQuantile((1 - confidence) / 2, regression.degreesOfFreedom) *
    regression.residualStandardDeviation;
  const interval = (width: number) => [value - width, value + width] as const;
  const result = {
    value,
    confidence,
    meanInterval: interval(multiple * Math.sqrt(leverage)),
    predictionInterval: interval(multiple * Math.sqrt(1 + leverage)),
  };
  if (![value, ...result.meanInterval, ...result.predictionInterval].every(Number.isFinite))
    throw new StatisticsError(
      'out-of-range',
      'predictor',
      predictor,
      'The prediction leaves the range of numbers.',
    );
  return result;
}
