import { StatisticsError } from '../errors.ts';

export interface NormalCurveOptions {
  readonly mean: number;
  /** > 0, in the unit of `x`. */
  readonly standardDeviation: number;
}

/**
 * Density of a normal distribution at a place, for drawing it over a histogram: times readings and bin width it is
 * the number expected in a bin.
 *
 * @param x  finite, in the unit of mean and standard deviation.
 * @returns  density, in 1/unit.
 * @throws   StatisticsError `not-finite`, `out-of-range` (standardDeviation).
 *
 * Source: ISO 3534-1, normal distribution.
 *
 * @example
 * normalCurve(0, { mean: 0, standardDeviation: 1 });
 * // 0.3989…
 */
export function normalCurve(x: number, { mean, standardDeviation }: NormalCurveOptions): number {
  for (const [argument, value] of Object.entries({ x, mean, standardDeviation })) {
    if (!Number.isFinite(value)) throw new StatisticsError('not-finite', argument, value);
  }
  if (standardDeviation <= 0) {
    throw new StatisticsError(
      'out-of-range',
      'standardDeviation',
      standardDeviation,
      'must be greater than 0',
    );
  }
  const z = (x - mean) / standardDeviation;
  return Math.exp((-z * z) / 2) / (standardDeviation * Math.sqrt(2 * Math.PI));
}
