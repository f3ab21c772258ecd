import { requireFinite, requireFiniteValues, requirePositive } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import {
  type ChangePoint,
  changePointOf,
  type PlausibleOptions,
  type SizeOptions,
  sizesOf,
  sumsFrom,
} from './change-point.ts';

export interface MeanChangePointOptions extends PlausibleOptions, SizeOptions {
  /** Mean before the change. Absent: both levels are unknown and estimated. */
  readonly mean?: number;
  /** Within-subgroup standard deviation of single readings, > 0; the same before and after. */
  readonly standardDeviation: number;
}

/**
 * When did the mean step to another level? Maximum likelihood over all times, for normal values.
 *
 * Known mean: N(x̄ after t − mean)²/(2σ²) with N readings after t, for t = 0 … T − 1. Unknown: (N before · N after)/(2Nσ²) ·
 * (x̄ before − x̄ after)², for t = 1 … T − 1. Use it after a signal; the value at tau is a start to look at, not a proof.
 *
 * @param means    T ≥ 1 subgroup means or single values in time order, one unit, up to the signal.
 * @param options  mean, standard deviation in that unit; size or sizes; drop.
 * @returns        the change point; `estimate` is the mean after it. Unavailable `too-few-values` for one value and an
 *                 unknown mean.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `not-an-integer`, `sizes-differ`.
 *
 * Source: Samuel, Pignatiello and Calvin, Quality Engineering 10(3), 1998; Hinkley, Biometrika 57, 1970 (unknown means).
 *
 * @example
 * meanChangePoint([10.1, 9.9, 10, 11.2, 10.9, 11.1], { mean: 10, standardDeviation: 0.2 });
 * // available, changePoint 3, estimate 11.06…, plausible [3]
 */
export function meanChangePoint(
  means: readonly number[],
  options: MeanChangePointOptions,
): Outcome<ChangePoint> {
  const { mean, standardDeviation } = options;
  requireFiniteValues(means, 'means');
  requirePositive(standardDeviation, 'options.standardDeviation');
  if (mean !== undefined) requireFinite(mean, 'options.mean');
  const sizes = sizesOf(options, means.length, 1);
  // In standard deviations from the known mean, or from the first value: far from zero no digits are lost.
  const origin = mean ?? means[0]!;
  const sums = sumsFrom(means.map((value, index) => sizes[index]! * ((value - origin) / standardDeviation)));
  const readings = sumsFrom(sizes);
  const estimate = (t: number) => origin + (sums[t]! / readings[t]!) * standardDeviation;
  if (mean !== undefined) {
    const logLikelihood = sums.map((sum, t) => ((sum / readings[t]!) * sum) / 2);
    return changePointOf('mean', logLikelihood, estimate, options, 'means');
  }
  if (means.length < 2)
    return {
      available: false,
      reason: 'too-few-values',
      message:
        'With both levels unknown it takes two values. Measure more, or give the mean before the change.',
    };
  const [sum, all] = [sums[0]!, readings[0]!];
  const logLikelihood = sums.map((after, t) => {
    if (t === 0) return null;
    const before = all - readings[t]!;
    const step = (sum - after) / before - after / readings[t]!;
    return (((before / all) * readings[t]!) / 2) * step * step;
  });
  return changePointOf('mean, both levels unknown', logLikelihood, estimate, options, 'means');
}
