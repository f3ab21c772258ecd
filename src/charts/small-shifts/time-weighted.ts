import {
  requireBetween,
  requireFinite,
  requirePositive,
  requireSameLength,
  requireWhole,
} from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';

/** What every chart with a memory is drawn about. All in the unit of the characteristic. */
export interface TimeWeightedOptions {
  /** Level that the process should hold: center line. */
  readonly target: number;
  /** Standard deviation of single readings inside a subgroup, > 0. */
  readonly withinSubgroupStandardDeviation: number;
  /** Readings behind each value, whole, 1 … 10⁶, where all have the same number. Default 1. */
  readonly size?: number;
}

/** Charts of several samples may also name the size of each. */
export interface VaryingSizes {
  /** Readings behind each value, one entry a value, each whole, 1 … 10⁶. Absent: `size` for all. */
  readonly sizes?: ArrayLike<number>;
}

/** Beyond this, sums of readings could leave the range of double precision. */
const largest = 1e290;
const largestSize = 1e6;

export function requireTimeWeighted(options: TimeWeightedOptions, argument: string): void {
  requireReading(options.target, `${argument}.target`);
  requirePositive(options.withinSubgroupStandardDeviation, `${argument}.withinSubgroupStandardDeviation`);
  requireReading(options.withinSubgroupStandardDeviation, `${argument}.withinSubgroupStandardDeviation`);
  requireSize(options.size ?? 1, `${argument}.size`);
}

export function requireMultiple(multiple: number, argument: string): void {
  requirePositive(multiple, argument);
  requireBetween(multiple, 0, 1000, argument);
}

export function requireSize(size: number, argument: string): void {
  requireWhole(size, 1, largestSize, argument);
}

/** A reading that can be summed. */
export function requireReading(value: number, argument: string): void {
  requireFinite(value, argument);
  if (Math.abs(value) > largest)
    throw new StatisticsError('out-of-range', argument, value, 'It is too large to be summed.');
}

/** Readings that can be summed, none missing; checked apart from the loop that charts them, which stays tight. */
export function requireReadings(values: Float64Array, argument: string): void {
  for (let index = 0; index < values.length; index++)
    if (!(Math.abs(values[index]!) <= largest)) requireReading(values[index]!, `${argument}.${index}`);
}

/** The size of each value, checked likewise. */
export function requireSizes(sizes: ArrayLike<number>, values: ArrayLike<unknown>, argument: string): void {
  requireSameLength(sizes.length, values.length, argument, 'values');
  for (let index = 0; index < sizes.length; index++) {
    const size = sizes[index]!;
    if (!(size >= 1 && size <= largestSize && size === Math.floor(size)))
      requireSize(size, `${argument}.${index}`);
  }
}
