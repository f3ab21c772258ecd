import { requireName } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { type IntervalSide, intervalAbout, intervalSides, meanAndSpread } from './mean-and-spread.ts';
import { type PredictionFactor, predictionFactor } from './prediction-factor.ts';

export interface PredictionIntervalOptions {
  /** Future readings, 1 … 1e6. Default 1. */
  readonly futureCount?: number;
  /** Default 0.95. */
  readonly confidence?: number;
  /** Default 'two-sided'. */
  readonly side?: IntervalSide;
  /** As for predictionFactor. Default 'exact'. */
  readonly method?: 'exact' | 'bonferroni' | 'mean';
}

export interface PredictionInterval extends Omit<PredictionFactor, 'sides'> {
  readonly side: IntervalSide;
  readonly mean: number;
  readonly standardDeviation: number;
  /** null on a side without a limit. */
  readonly lower: number | null;
  readonly upper: number | null;
  readonly message: string;
}

/**
 * Where the next readings of a stable, normal process will lie, all of them with the confidence (or their mean).
 *
 * @param values  2 or more finite readings.
 * @returns       limits in the unit of the values; Unavailable `no-variation` where all readings are equal.
 * @throws        StatisticsError `empty`, `too-few-values`, `not-finite`, `not-an-integer`, `out-of-range`,
 *                `unknown-name`.
 *
 * Source: Hahn and Meeker, Statistical Intervals (1991), sections 4.7 and 4.8; ISO 16269-8.
 *
 * @example
 * predictionInterval([12.05, 12.06, 12.03, 12.01, 12.01, 11.96], { futureCount: 3 });
 * // available, lower 11.88…, upper 12.15…
 */
export function predictionInterval(
  values: readonly number[],
  options: PredictionIntervalOptions = {},
): Outcome<PredictionInterval> {
  const { side = 'two-sided', ...rest } = options;
  requireName(side, intervalSides, 'options.side');
  const basis = meanAndSpread(values);
  if (!basis.available) return basis;
  const factor = predictionFactor({
    ...rest,
    sampleSize: values.length,
    sides: side === 'two-sided' ? side : 'one-sided',
  });
  if (!factor.available) return factor;
  const { sides: _, ...found } = factor;
  return {
    ...found,
    side,
    ...intervalAbout(basis, factor.factor, side),
    message:
      'This holds for normally distributed readings of a process that stays as it was. A reading outside asks what has changed.',
  };
}
