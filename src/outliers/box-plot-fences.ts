import { requireFiniteValues } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { outlierAdvice } from './outlier-advice.ts';

export interface BoxPlotFences {
  readonly method: 'box plot';
  readonly count: number;
  readonly median: number;
  readonly lowerFourth: number;
  readonly upperFourth: number;
  readonly lowerInnerFence: number;
  readonly upperInnerFence: number;
  readonly lowerOuterFence: number;
  readonly upperOuterFence: number;
  /** Indices of readings beyond the inner fences. */
  readonly outside: readonly number[];
  /** Indices of readings beyond the outer fences. */
  readonly farOut: readonly number[];
  readonly message: string;
}

/**
 * Readings that a box plot draws apart: beyond 1.5 (inner fences) and 3 (outer fences) box lengths from the box. Needs
 * no normal distribution, and a few outliers do not move the fences; of normal readings about 1 in 140 lies outside.
 *
 * @param values  4 or more finite readings in one unit.
 * @returns       all in that unit; with a box of no length the fences lie on it.
 * @throws        StatisticsError `empty`, `too-few-values`, `not-finite`, `out-of-range` where fences overflow.
 *
 * Source: ISO 16269-4, box plot; J. W. Tukey, Exploratory Data Analysis (1977). The constants 1.5 and 3, and the
 * fourths (the readings of depth n/4, averaged in pairs where n is a multiple of 4), cited from memory.
 *
 * @example
 * boxPlotFences([1, 2, 3, 4, 5, 6, 7, 30]);
 * // median 4.5, lowerFourth 2.5, upperFourth 6.5, upperInnerFence 12.5, farOut [7]
 */
export function boxPlotFences(values: readonly number[]): BoxPlotFences {
  requireFiniteValues(values, 'values', 4);
  const sorted = Float64Array.from(values).sort();
  const lowerFourth = fractile(sorted, 1);
  const upperFourth = fractile(sorted, 3);
  const fence = (from: number, lengths: number) => {
    const value = from + lengths * (upperFourth - lowerFourth);
    if (Number.isFinite(value)) return value;
    throw new StatisticsError(
      'out-of-range',
      'values',
      value,
      'The fences leave the range of numbers. Use another unit.',
    );
  };
  const inner = [fence(lowerFourth, -1.5), fence(upperFourth, 1.5)] as const;
  const outer = [fence(lowerFourth, -3), fence(upperFourth, 3)] as const;
  const beyond = ([lower, upper]: readonly [number, number]) =>
    values.flatMap((value, index) => (value < lower || value > upper ? [index] : []));
  const outside = beyond(inner);
  return {
    method: 'box plot',
    count: values.length,
    median: fractile(sorted, 2),
    lowerFourth,
    upperFourth,
    lowerInnerFence: inner[0],
    upperInnerFence: inner[1],
    lowerOuterFence: outer[0],
    upperOuterFence: outer[1],
    outside,
    farOut: beyond(outer),
    message: outlierAdvice(outside.length),
  };
}

/** The reading below which `quarters` of four lie; the mean of two where that falls between them. */
function fractile(sorted: Float64Array, quarters: number): number {
  const place = (sorted.length * quarters) / 4;
  const upper = sorted[Math.floor(place)]!;
  if (!Number.isInteger(place)) return upper;
  const lower = sorted[place - 1]!;
  return lower / 2 + upper / 2;
}
