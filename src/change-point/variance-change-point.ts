import { requireFiniteValues, requirePositive } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { excessOverLog } from '../numerics/deviance.ts';
import {
  type ChangePoint,
  changePointOf,
  type PlausibleOptions,
  type SizeOptions,
  sizesOf,
  sumsFrom,
} from './change-point.ts';

export interface VarianceChangePointOptions extends PlausibleOptions, SizeOptions {
  /** Within-subgroup standard deviation before the change, > 0. */
  readonly standardDeviation: number;
}

/**
 * When did the spread step to another level? Maximum likelihood over all times, from the variances of subgroups of
 * normal readings: ν/2 · (r − 1 − ln r), r the pooled variance after t over the known one, ν its degrees of freedom.
 *
 * @param variances  T ≥ 1 sample variances (divisor n − 1), ≥ 0, in time order, in the unit of the readings squared.
 * @param options    standard deviation before; size or sizes, whole, ≥ 2 (default 2); drop.
 * @returns          the change point; `estimate` is the standard deviation after it. Unavailable `no-variation` where the
 *                   last subgroups have no spread at all.
 * @throws           StatisticsError `empty`, `not-finite`, `out-of-range`, `not-an-integer`, `sizes-differ`.
 *
 * Source: Samuel, Pignatiello and Calvin, Quality Engineering 11(2), 1998.
 *
 * @example
 * varianceChangePoint([1.1, 0.8, 1, 4.2, 3.7], { standardDeviation: 1, size: 5 });
 * // available, changePoint 3, estimate 1.987…
 */
export function varianceChangePoint(
  variances: readonly number[],
  options: VarianceChangePointOptions,
): Outcome<ChangePoint> {
  const { standardDeviation } = options;
  requireFiniteValues(variances, 'variances');
  const negative = variances.findIndex((value) => value < 0);
  if (negative >= 0)
    throw new StatisticsError(
      'out-of-range',
      `variances.${negative}`,
      variances[negative],
      'A variance is never negative.',
    );
  requirePositive(standardDeviation, 'options.standardDeviation');
  const sizes = sizesOf({ size: 2, ...options }, variances.length, 2);
  const degreesOfFreedom = sumsFrom(sizes.map((size) => size - 1));
  const squares = sumsFrom(
    variances.map(
      (variance, index) => (sizes[index]! - 1) * (variance / standardDeviation / standardDeviation),
    ),
  );
  if (squares.at(-1) === 0)
    return {
      available: false,
      reason: 'no-variation',
      message: 'The last subgroup has no spread at all. Check that the gauge resolves it.',
    };
  const ratio = (t: number) => squares[t]! / degreesOfFreedom[t]!;
  const logLikelihood = squares.map((_, t) => (degreesOfFreedom[t]! / 2) * excess(ratio(t)));
  const estimate = (t: number) => standardDeviation * Math.sqrt(ratio(t));
  return changePointOf('variance', logLikelihood, estimate, options, 'variances');
}

/** r − 1 − ln r, to the last digits also near 1. */
function excess(ratio: number): number {
  return ratio < 0.5 ? ratio - 1 - Math.log(ratio) : excessOverLog(ratio - 1);
}
