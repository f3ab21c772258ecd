import type { HourCell } from './nested-readings.ts';

/** Variances of coil and hour as multiples of the variance of a piece. */
export type VarianceRatios = readonly [coil: number, hour: number];

export interface LikelihoodPoint {
  /** −2 × restricted log-likelihood at the best variance of a piece, up to a constant. */
  readonly deviance: number;
  /** Its derivatives by the two ratios. */
  readonly slope: readonly [number, number];
  /** Generalised least-squares mean. */
  readonly mean: number;
  /** Best variance of a piece for these ratios. */
  readonly pieceVariance: number;
  /** 1'V⁻¹1 and ln|V| in units of the variance of a piece. */
  readonly precision: number;
  readonly logDeterminant: number;
}

/**
 * Restricted likelihood of the nested model with both ratios held, and its slope.
 *
 * The covariance of a coil is block-structured, so inverse and determinant are sums over hours: with λ = 1 + n·r(hour),
 * w = n/λ, W = Σw and D = 1 + r(coil)·W, ln|V| = Σ ln λ + Σ ln D, 1'V⁻¹1 = ΣW/D, and a quadratic form loses
 * r(coil)(Σ w m)²/D for each coil.
 *
 * Source: Searle, Casella, McCulloch, Variance Components (1992), chapters 3 and 6; the sums by the matrix inverse of
 * Sherman and Morrison.
 */
export function restrictedLikelihood(
  coils: readonly (readonly HourCell[])[],
  readings: number,
  [coilRatio, hourRatio]: VarianceRatios,
): LikelihoodPoint {
  let logDeterminant = 0;
  let precision = 0;
  let weighted = 0;
  let logSlopeCoil = 0;
  let logSlopeHour = 0;
  let precisionSlopeCoil = 0;
  let precisionSlopeHour = 0;
  for (const hours of coils) {
    let weights = 0;
    let weightSquares = 0;
    let sum = 0;
    for (const { size, mean } of hours) {
      const inflation = 1 + size * hourRatio;
      const weight = size / inflation;
      logDeterminant += Math.log(inflation);
      weights += weight;
      weightSquares += weight * weight;
      sum += weight * mean;
    }
    const inflation = 1 + coilRatio * weights;
    logDeterminant += Math.log(inflation);
    precision += weights / inflation;
    weighted += sum / inflation;
    logSlopeCoil += weights / inflation;
    logSlopeHour += weights - (coilRatio * weightSquares) / inflation;
    precisionSlopeCoil -= (weights / inflation) ** 2;
    precisionSlopeHour -= weightSquares / (inflation * inflation);
  }
  const mean = weighted / precision;

  // Second pass about the mean, so that no digits cancel. The mean is where the form is least: its own slope is 0.
  let form = 0;
  let formSlopeCoil = 0;
  let formSlopeHour = 0;
  for (const hours of coils) {
    let weights = 0;
    let sum = 0;
    for (const cell of hours) {
      const weight = cell.size / (1 + cell.size * hourRatio);
      weights += weight;
      sum += weight * (cell.mean - mean);
    }
    const inflation = 1 + coilRatio * weights;
    // What the model takes as the coil's own share, and what is left of each hour.
    const shift = (coilRatio * sum) / inflation;
    for (const { size, mean: hourMean, squares } of hours) {
      const weight = size / (1 + size * hourRatio);
      const rest = hourMean - mean - shift;
      form += squares + weight * rest * rest;
      formSlopeHour -= (weight * rest) ** 2;
    }
    form += coilRatio * (sum / inflation) ** 2;
    formSlopeCoil -= (sum / inflation) ** 2;
  }
  const freedom = readings - 1;
  return {
    deviance: freedom * Math.log(form) + logDeterminant + Math.log(precision),
    slope: [
      (freedom * formSlopeCoil) / form + logSlopeCoil + precisionSlopeCoil / precision,
      (freedom * formSlopeHour) / form + logSlopeHour + precisionSlopeHour / precision,
    ],
    mean,
    pieceVariance: form / freedom,
    precision,
    logDeterminant,
  };
}
