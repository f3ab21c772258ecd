import { requireFinite, requireFiniteValues, requirePositive } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import {
  type ChangePoint,
  changePointOf,
  type PlausibleOptions,
  type SizeOptions,
  sizesOf,
} from './change-point.ts';

export interface DriftChangePointOptions extends PlausibleOptions, SizeOptions {
  /** Mean before the drift. */
  readonly mean: number;
  /** Within-subgroup standard deviation of single readings, > 0. */
  readonly standardDeviation: number;
}

/**
 * When did the mean begin to drift, as a tool that wears? Maximum likelihood over all times for normal values whose mean
 * after sample t rises by a constant step a sample.
 *
 * With weights nᵢ the step is Σnᵢ(i − t)(x̄ᵢ − mean)/Σnᵢ(i − t)² and the log-likelihood (Σnᵢ(i − t)(x̄ᵢ − mean))²/(2σ²Σnᵢ(i − t)²),
 * i counted from 1, sums over i > t.
 *
 * @param means    T ≥ 1 subgroup means or single values in time order, equally spaced, one unit.
 * @param options  mean, standard deviation in that unit; size or sizes; drop.
 * @returns        the change point; `estimate` is the step a sample.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `not-an-integer`, `sizes-differ`.
 *
 * Source: Perry and Pignatiello, Quality Technology & Quantitative Management 3(1), 2006.
 *
 * @example
 * driftChangePoint([10, 10, 10, 10.5, 11, 11.5], { mean: 10, standardDeviation: 0.1 });
 * // available, changePoint 3, estimate 0.5, plausible [3]
 */
export function driftChangePoint(
  means: readonly number[],
  options: DriftChangePointOptions,
): Outcome<ChangePoint> {
  const { mean, standardDeviation } = options;
  requireFiniteValues(means, 'means');
  requireFinite(mean, 'options.mean');
  requirePositive(standardDeviation, 'options.standardDeviation');
  const sizes = sizesOf(options, means.length, 1);
  const logLikelihood = new Array<number>(means.length);
  const steps = new Array<number>(means.length);
  // Sums over the samples after t of nᵢd, nᵢ(i − t)d and of nᵢ, nᵢ(i − t), nᵢ(i − t)²: each from the one a place later.
  let sum = 0;
  let moment = 0;
  let weight = 0;
  let weightMoment = 0;
  let squares = 0;
  for (let t = means.length - 1; t >= 0; t--) {
    const size = sizes[t]!;
    squares += 2 * weightMoment + weight + size;
    weightMoment += weight + size;
    weight += size;
    sum += size * ((means[t]! - mean) / standardDeviation);
    moment += sum;
    steps[t] = (moment / squares) * standardDeviation;
    logLikelihood[t] = ((moment / squares) * moment) / 2;
  }
  return changePointOf('linear drift', logLikelihood, (t) => steps[t]!, options, 'means');
}
