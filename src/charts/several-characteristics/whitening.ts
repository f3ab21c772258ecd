import { requireSameLength } from '../../checks.ts';
import { type Outcome, StatisticsError, type Unavailable } from '../../errors.ts';
import { choleskyFactor } from '../../numerics/matrix.ts';
import type { MultivariateStandard, Observation } from './multivariate-standard.ts';

/**
 * Turns deviations from the mean vector into independent numbers of variance 1, so that T² is their sum of squares.
 * The characteristics are scaled to standard deviation 1 first: units never decide what counts as singular.
 */
export interface Whitening {
  readonly mean: Float64Array;
  /** Standard deviation of each characteristic. */
  readonly scale: Float64Array;
  /**
   * Inverse of the Cholesky factor of the covariance matrix: its lower triangle, row after row. Its product with the
   * deviations is white.
   */
  readonly inverseFactor: Float64Array;
}

/** Below this share of variance not explained by the other characteristics, a characteristic counts as determined. */
const leastOwnVariance = 1e-12;

/** Unavailable `singular-covariance`, in words, where the characteristics depend on each other exactly. */
export function whitening(
  standard: MultivariateStandard,
  names: readonly string[],
): Outcome<{ readonly whitening: Whitening }> {
  const { mean, covariance, samplesUsed, subgroupSize } = standard;
  const p = mean.length;
  const degreesOfFreedom =
    samplesUsed === null ? Infinity : samplesUsed * subgroupSize - (subgroupSize === 1 ? 1 : samplesUsed);
  if (degreesOfFreedom < p)
    return singular(
      `${samplesUsed} ${subgroupSize === 1 ? 'observations' : `subgroups of ${subgroupSize}`} are too few to tell ${p} characteristics apart. Measure more parts, or chart fewer characteristics.`,
    );
  const scale = Float64Array.from(mean, (_, j) => Math.sqrt(covariance[j]![j]!));
  const still = scale.indexOf(0);
  if (still >= 0)
    return singular(
      `${names[still]} does not vary. Check that the gauge resolves it, or leave it out of this chart.`,
    );
  const correlation = covariance.map((row, i) =>
    row.map((value, j) => (i === j ? 1 : value / scale[i]! / scale[j]!)),
  );
  const factor = choleskyFactor(correlation);
  if (factor === null || factor.some((row, i) => row[i]! ** 2 < leastOwnVariance))
    return singular(
      `${names[determined(correlation)]} follows exactly from the other characteristics. Leave it out of this chart, or measure it independently.`,
    );
  return {
    available: true,
    whitening: { mean: Float64Array.from(mean), scale, inverseFactor: inverseOfLower(factor, scale) },
  };
}

function singular(message: string): Unavailable {
  return { available: false, reason: 'singular-covariance', message };
}

/** The first characteristic without variance of its own beside those before it. */
function determined(correlation: readonly (readonly number[])[]): number {
  for (let size = 1; size <= correlation.length; size++) {
    const factor = choleskyFactor(correlation.slice(0, size).map((row) => row.slice(0, size)));
    if (factor === null || factor[size - 1]![size - 1]! ** 2 < leastOwnVariance) return size - 1;
  }
  return correlation.length - 1;
}

/** Inverse of a lower triangular matrix, its lower triangle row after row, each column over its scale. */
function inverseOfLower(factor: readonly (readonly number[])[], scale: Float64Array): Float64Array {
  const p = factor.length;
  const inverse = new Float64Array((p * (p + 1)) / 2);
  const at = (i: number, j: number) => (i * (i + 1)) / 2 + j;
  for (let j = 0; j < p; j++)
    for (let i = j; i < p; i++) {
      let sum = i === j ? 1 : 0;
      for (let k = j; k < i; k++) sum -= factor[i]![k]! * inverse[at(k, j)]!;
      inverse[at(i, j)] = sum / factor[i]![i]!;
    }
  for (let i = 0; i < p; i++) for (let j = 0; j <= i; j++) inverse[at(i, j)]! /= scale[j]!;
  return inverse;
}

/** T² of an observation: the sum of squares of its whitened deviations. Throws where it is too large to compute. */
export function tSquared(
  { mean, inverseFactor }: Whitening,
  observation: Observation,
  argument: string,
): number {
  let total = 0;
  for (let i = 0, place = 0; i < mean.length; i++) {
    let sum = 0;
    for (let j = 0; j <= i; j++) sum += inverseFactor[place++]! * (observation[j]! - mean[j]!);
    total += sum * sum;
  }
  if (!(total <= largestTSquared)) throw tooFar(argument, observation);
  return total;
}

/** Beyond this, products with T² could leave the range of double precision. */
export const largestTSquared = 1e290;

export function tooFar(argument: string, value: unknown): StatisticsError {
  return new StatisticsError(
    'out-of-range',
    argument,
    value,
    'It lies too far from the mean to compute with.',
  );
}

/** Names of the characteristics: those given, or 'characteristic 1', 'characteristic 2' … */
export function characteristicNames(
  names: readonly string[] | undefined,
  count: number,
  argument: string,
): readonly string[] {
  if (names === undefined) return Array.from({ length: count }, (_, j) => `characteristic ${j + 1}`);
  requireSameLength(names.length, count, argument, 'the mean vector');
  return names;
}
