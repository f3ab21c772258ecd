import { requireFinite, requireSameLength } from '../checks.ts';
import { requireCount } from './attributes/count-sample.ts';
import type { LimitLines } from './control-chart.ts';

/** The column of a chart whose values are its input and whose limits are the same for every point. */
export interface BeyondColumns {
  /** 0 inside or on the limits, 1 above the upper, 2 below the lower limit. */
  readonly beyondLimits: Uint8Array;
}

/** The column passed in, or a new one. */
export function beyondColumns(
  length: number,
  given: BeyondColumns | undefined,
  expectedArgument: string,
): BeyondColumns {
  if (given === undefined) return { beyondLimits: new Uint8Array(length) };
  requireSameLength(given.beyondLimits.length, length, 'columns.beyondLimits', expectedArgument);
  return given;
}

/** Flags counts, which are whole and not negative. */
export function flagCounts(
  counts: Float64Array,
  { lowerControlLimit, upperControlLimit }: LimitLines,
  { beyondLimits }: BeyondColumns,
  argument: string,
): void {
  const lower = lowerControlLimit ?? 0;
  const upper = upperControlLimit ?? Infinity;
  for (let index = 0; index < counts.length; index++) {
    const count = counts[index]!;
    if (!(count >= 0 && count <= Number.MAX_SAFE_INTEGER && Math.floor(count) === count))
      requireCount(count, `${argument}.${index}`);
    beyondLimits[index] = count > upper ? 1 : count < lower ? 2 : 0;
  }
}

/** Flags finite numbers. */
export function flagValues(
  values: Float64Array,
  { lowerControlLimit, upperControlLimit }: LimitLines,
  { beyondLimits }: BeyondColumns,
  argument: string,
): void {
  const lower = lowerControlLimit ?? -Infinity;
  const upper = upperControlLimit ?? Infinity;
  for (let index = 0; index < values.length; index++) {
    const value = values[index]!;
    if (!(Math.abs(value) < Infinity)) requireFinite(value, `${argument}.${index}`);
    beyondLimits[index] = value > upper ? 1 : value < lower ? 2 : 0;
  }
}
