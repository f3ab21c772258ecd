import {
  requireBetween,
  requireFinite,
  requireFiniteValues,
  requireFraction,
  requirePositive,
  requireSameLength,
  requireWhole,
} from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { deviance } from '../numerics/deviance.ts';
import { type ChangePoint, changePointOf, type PlausibleOptions, sumsFrom } from './change-point.ts';

export interface PoissonChangePointOptions extends PlausibleOptions {
  /** Nonconformities per unit before the change, > 0. */
  readonly rate: number;
  /** Units of area inspected in each sample, > 0. Default 1 each. */
  readonly areas?: readonly number[];
}

/**
 * When did the rate of nonconformities step to another level? Maximum likelihood over all times for Poisson counts:
 * X ln(r/rate) − A(r − rate), X and A the sums after t and r = X/A.
 *
 * @param counts   T ≥ 1 whole counts ≥ 0 in time order.
 * @param options  rate before, areas, drop.
 * @returns        the change point; `estimate` is the rate after it.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `not-an-integer`, `sizes-differ`.
 *
 * Source: Samuel and Pignatiello, Quality Engineering 11(2), 1998.
 *
 * @example
 * poissonChangePoint([2, 1, 2, 6, 7], { rate: 2 });
 * // available, changePoint 3, estimate 6.5
 */
export function poissonChangePoint(
  counts: readonly number[],
  options: PoissonChangePointOptions,
): Outcome<ChangePoint> {
  const { rate } = options;
  requireCounts(counts);
  requirePositive(rate, 'options.rate');
  requireBetween(rate, 1e-290, 1e290, 'options.rate');
  const areas = options.areas ?? counts.map(() => 1);
  requireSameLength(areas.length, counts.length, 'options.areas', 'counts');
  areas.forEach((area, index) => {
    requirePositive(area, `options.areas.${index}`);
  });
  const counted = sumsFrom(counts);
  const inspected = sumsFrom(areas);
  const logLikelihood = counted.map((count, t) => against(count, inspected[t]! * rate));
  return changePointOf('poisson', logLikelihood, (t) => counted[t]! / inspected[t]!, options, 'counts');
}

export interface BinomialChangePointOptions extends PlausibleOptions {
  /** Proportion nonconforming before the change, in (0, 1). */
  readonly proportion: number;
  /** Parts inspected in each sample, whole, ≥ 1: one number for all or one each. */
  readonly sizes: number | readonly number[];
}

/**
 * When did the proportion nonconforming step to another level? Maximum likelihood over all times for binomial counts:
 * X ln(q/p) + (N − X) ln((1 − q)/(1 − p)), X and N the sums after t, p the proportion before and q = X/N.
 *
 * @param counts   T ≥ 1 whole counts of nonconforming parts, 0 … size, in time order.
 * @param options  proportion before, sizes, drop.
 * @returns        the change point; `estimate` is the proportion after it.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `not-an-integer`, `sizes-differ`.
 *
 * Source: Pignatiello and Samuel, Journal of Quality Technology 33(2), 2001.
 *
 * @example
 * binomialChangePoint([1, 0, 2, 6, 5], { proportion: 0.02, sizes: 50 });
 * // available, changePoint 3, estimate 0.11
 */
export function binomialChangePoint(
  counts: readonly number[],
  options: BinomialChangePointOptions,
): Outcome<ChangePoint> {
  const { proportion } = options;
  requireCounts(counts);
  requireFraction(proportion, 'options.proportion');
  const each = options.sizes;
  const sizes = typeof each === 'number' ? counts.map(() => each) : each;
  requireSameLength(sizes.length, counts.length, 'options.sizes', 'counts');
  sizes.forEach((size, index) => {
    requireWhole(size, 1, 1e12, `options.sizes.${index}`);
    if (counts[index]! > size)
      throw new StatisticsError(
        'out-of-range',
        `counts.${index}`,
        counts[index],
        'It is at most the sample size.',
      );
  });
  const found = sumsFrom(counts);
  const inspected = sumsFrom(sizes);
  const logLikelihood = found.map((count, t) => {
    const all = inspected[t]!;
    return against(count, all * proportion) + against(all - count, all * (1 - proportion));
  });
  return changePointOf('binomial', logLikelihood, (t) => found[t]! / inspected[t]!, options, 'counts');
}

/** count · ln(count/mean) + mean − count, with 0 ln 0 = 0. */
function against(count: number, mean: number): number {
  return count === 0 ? mean : deviance(count, mean);
}

function requireCounts(counts: readonly number[]): void {
  requireFiniteValues(counts, 'counts');
  counts.forEach((count, index) => {
    requireFinite(count, `counts.${index}`);
    requireWhole(count, 0, 1e12, `counts.${index}`);
  });
}
