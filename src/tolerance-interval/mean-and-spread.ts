import { requireFiniteValues } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { statisticsOf } from '../samples/subgroup-statistics.ts';

/** 'upper': only an upper limit; 'lower': only a lower one. */
export type IntervalSide = 'two-sided' | 'upper' | 'lower';
export const intervalSides: readonly IntervalSide[] = ['two-sided', 'upper', 'lower'];

export interface MeanAndSpread {
  readonly mean: number;
  readonly standardDeviation: number;
}

/** Mean of readings, with their standard deviation or the known one. */
export function meanAndSpread(values: readonly number[], known?: number): Outcome<MeanAndSpread> {
  requireFiniteValues(values, 'values', known === undefined ? 2 : 1);
  const { mean, standardDeviation } = statisticsOf(values, 'values');
  const spread = known ?? standardDeviation!;
  return spread > 0
    ? { available: true, mean: mean!, standardDeviation: spread }
    : {
        available: false,
        reason: 'no-variation',
        message: 'All readings are equal, so the spread is unknown. Check that the gauge resolves it.',
      };
}

/** The limits factor · standard deviation away from the mean, on the sides asked for. */
export function intervalAbout(
  { mean, standardDeviation }: MeanAndSpread,
  factor: number,
  side: IntervalSide,
) {
  const width = factor * standardDeviation;
  if (!Number.isFinite(mean - width) || !Number.isFinite(mean + width))
    throw new StatisticsError(
      'out-of-range',
      'values',
      width,
      'The limits leave the range of numbers. Use another unit.',
    );
  return {
    mean,
    standardDeviation,
    lower: side === 'upper' ? null : mean - width,
    upper: side === 'lower' ? null : mean + width,
  };
}
