import { requireSameLength, requireWhole } from '../../checks.ts';
import { type Outcome, StatisticsError } from '../../errors.ts';
import { fillTSquared } from './fill-t-squared.ts';
import { judgeOf, type TSquaredSettings } from './t-squared-judge.ts';
import { largestTSquared, tooFar } from './whitening.ts';

/** One entry a point; the limit is the same for all points. */
export interface TSquaredColumns {
  readonly values: Float64Array;
  /** 1 beyond the upper control limit, else 0. */
  readonly beyondLimits: Uint8Array;
}

export interface FilledTSquaredColumns extends TSquaredColumns {
  readonly upperControlLimit: number;
}

/**
 * T² of many observations at once, row after row in one column of numbers; the same values that tSquaredPoint gives
 * one by one, without an object a point. For subgroups, give their mean vectors and `size`.
 *
 * @param observations  m · p finite numbers: all characteristics of the first part, then of the second …
 * @param settings      standard, phase, false-alarm probability; size, the observations behind each row (default 1).
 * @param columns       columns of m entries to write over; default new ones.
 * @returns             the columns and their limit; Unavailable `singular-covariance`.
 * @throws              StatisticsError `empty`, `not-finite` (names the number), `sizes-differ`, `out-of-range`.
 *
 * Source: as tSquaredChart.
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: null, subgroupSize: 1, method: 'given' };
 * tSquaredColumns(Float64Array.of(10, 5, 11, 4), { standard });
 * // available, values.0 0, values.1 20.0…, beyondLimits.1 1
 */
export function tSquaredColumns(
  observations: Float64Array,
  settings: TSquaredSettings & { readonly size?: number },
  columns?: TSquaredColumns,
): Outcome<FilledTSquaredColumns> {
  const { size = 1, ...others } = settings;
  requireWhole(size, 1, 1e6, 'settings.size');
  const judge = judgeOf(others, size, 'settings');
  if (!judge.available) return judge;
  const width = others.standard.mean.length;
  const { values, beyondLimits } = columnsFor(observations, width, columns);
  const count = values.length;

  const { mean, inverseFactor } = judge.whitening;
  const upperControlLimit = judge.limits.upperControlLimit!;
  fillTSquared(observations, mean, inverseFactor, values, 0, count);
  for (let row = 0; row < count; row++) {
    const value = size * values[row]!;
    values[row] = value;
    if (!(value <= largestTSquared)) refuseRow(observations, row * width, width);
    beyondLimits[row] = value > upperControlLimit ? 1 : 0;
  }
  return { available: true, values, beyondLimits, upperControlLimit };
}

/** The columns passed in, or new ones, for rows of this width. */
export function columnsFor(
  observations: Float64Array,
  width: number,
  given: TSquaredColumns | undefined,
): TSquaredColumns {
  if (observations.length === 0) throw new StatisticsError('empty', 'observations', observations);
  if (observations.length % width !== 0)
    throw new StatisticsError(
      'sizes-differ',
      'observations',
      observations.length,
      `Its length must be a whole number of rows of ${width} characteristics.`,
    );
  const count = observations.length / width;
  if (given === undefined) return { values: new Float64Array(count), beyondLimits: new Uint8Array(count) };
  requireSameLength(given.values.length, count, 'columns.values', 'observations');
  requireSameLength(given.beyondLimits.length, count, 'columns.beyondLimits', 'observations');
  return given;
}

/** Says what is wrong with a row whose T² is no number to work with. */
export function refuseRow(data: Float64Array, start: number, width: number): never {
  for (let place = start; place < start + width; place++)
    if (!Number.isFinite(data[place]))
      throw new StatisticsError('not-finite', `observations.${place}`, data[place]);
  throw tooFar(`observations.${start}`, data[start]);
}
