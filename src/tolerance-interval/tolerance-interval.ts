import { requireName, requirePositive } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { type IntervalSide, intervalAbout, intervalSides, meanAndSpread } from './mean-and-spread.ts';
import { type NormalToleranceFactor, normalToleranceFactor } from './normal-tolerance-factor.ts';

export interface ToleranceIntervalOptions {
  /** Share of all future readings that the interval holds, 0.001 … 1 − 1e-9. */
  readonly coverage: number;
  /** Default 0.95. */
  readonly confidence?: number;
  /** 'upper': from below everything up to a limit. Default 'two-sided'. */
  readonly side?: IntervalSide;
  /** Two-sided only. Default 'exact'. */
  readonly method?: 'exact' | 'Howe';
  /** Where the standard deviation is known from long experience: > 0, in the unit of the values. */
  readonly knownStandardDeviation?: number;
}

export interface ToleranceInterval extends Omit<NormalToleranceFactor, 'sides'> {
  readonly side: IntervalSide;
  readonly mean: number;
  readonly standardDeviation: number;
  /** null on a side without a limit. */
  readonly lower: number | null;
  readonly upper: number | null;
  readonly message: string;
}

/**
 * Statistical tolerance interval of normally distributed readings: it holds a given share of all readings, past and
 * future, with a given confidence. Not to be confused with a confidence interval, which is about the mean, nor with
 * the tolerance of the drawing.
 *
 * @param values  2 or more finite readings (1 where the standard deviation is known) from one stable process.
 * @returns       limits in the unit of the values; Unavailable `no-variation` where all readings are equal.
 * @throws        StatisticsError `empty`, `too-few-values`, `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: ISO 16269-6; factors and their accuracy as normalToleranceFactor.
 *
 * @example
 * toleranceInterval([12.05, 12.06, 12.03, 12.01, 12.01, 11.96], { coverage: 0.95 });
 * // available, lower 11.86…, upper 12.17…, factor 4.42…
 */
export function toleranceInterval(
  values: readonly number[],
  options: ToleranceIntervalOptions,
): Outcome<ToleranceInterval> {
  const { side = 'two-sided', knownStandardDeviation, ...request } = options;
  requireName(side, intervalSides, 'options.side');
  if (knownStandardDeviation !== undefined)
    requirePositive(knownStandardDeviation, 'options.knownStandardDeviation');
  const basis = meanAndSpread(values, knownStandardDeviation);
  if (!basis.available) return basis;
  const factor = normalToleranceFactor({
    ...request,
    sampleSize: values.length,
    sides: side === 'two-sided' ? side : 'one-sided',
    ...(knownStandardDeviation === undefined ? {} : { degreesOfFreedom: 'known' }),
  });
  if (!factor.available) return factor;
  const { sides: _, ...rest } = factor;
  return {
    ...rest,
    side,
    ...intervalAbout(basis, factor.factor, side),
    message: `From ${values.length} readings, for normally distributed readings of a stable process: check the chart and the probability plot first. Then compare with the limits of the drawing. Values that end at a bound, such as a runout at 0, need distributionFreeToleranceInterval.`,
  };
}
