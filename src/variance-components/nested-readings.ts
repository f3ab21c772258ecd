import { requireFinite } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import type { Subgroup } from '../samples/subgroup.ts';
import { subgroupStatistics } from '../samples/subgroup-statistics.ts';

/** coils[coil][hour] = the pieces measured in that hour, one unit; null marks a missing reading. */
export type NestedReadings = readonly (readonly Subgroup[])[];

/** One number for each level of the nesting. */
export interface NestedLevels<Level = number> {
  readonly coil: Level;
  readonly hour: Level;
  readonly piece: Level;
}

/** What the calculations need of one hour, in scaled units. */
export interface HourCell {
  readonly size: number;
  readonly mean: number;
  /** Sum of squares of the pieces about their mean. */
  readonly squares: number;
}

export interface NestedCells {
  /** Coils and hours without a reading are left out. */
  readonly coils: readonly (readonly HourCell[])[];
  readonly hours: number;
  readonly readings: number;
  /** reading = origin + scale · scaled reading. */
  readonly origin: number;
  readonly scale: number;
}

/** Beyond these the squares of the readings leave the range of double precision. */
const smallestScale = 1e-140;
const largestScale = 1e140;

/**
 * Checks nested readings and reduces each hour to its size, mean and sum of squares.
 *
 * Readings are taken as distances from the first one in units of a power of two near the largest distance, so that
 * neither a high level nor a tiny or huge unit costs digits.
 */
export function nestedCells(coils: NestedReadings): NestedCells {
  const present: number[] = [];
  coils.forEach((hours, coil) => {
    hours.forEach((pieces, hour) => {
      pieces.forEach((reading, piece) => {
        if (reading === null) return;
        requireFinite(reading, `coils.${coil}.${hour}.${piece}`);
        present.push(reading);
      });
    });
  });
  if (present.length === 0) throw new StatisticsError('empty', 'coils', coils);
  const origin = present[0]!;
  let largest = 0;
  for (const reading of present) largest = Math.max(largest, Math.abs(reading - origin));
  if (largest > largestScale || (largest > 0 && largest < smallestScale))
    throw new StatisticsError(
      'out-of-range',
      'coils',
      largest,
      'The squares of the distances between readings cannot be computed. Choose another unit.',
    );
  const scale = largest === 0 ? 1 : 2 ** Math.round(Math.log2(largest));

  const cells = coils.map((hours) =>
    hours.flatMap((pieces): HourCell[] => {
      const { size, mean, standardDeviation } = subgroupStatistics(
        pieces.map((reading) => (reading === null ? null : (reading - origin) / scale)),
      );
      return mean === null ? [] : [{ size, mean, squares: (size - 1) * (standardDeviation ?? 0) ** 2 }];
    }),
  );
  const kept = cells.filter((hours) => hours.length > 0);
  return {
    coils: kept,
    hours: kept.reduce((sum, hours) => sum + hours.length, 0),
    readings: present.length,
    origin,
    scale,
  };
}

/** Each component as a share of their sum, in percent. */
export function percentOf({ coil, hour, piece }: NestedLevels): NestedLevels {
  const total = coil + hour + piece;
  return { coil: (100 * coil) / total, hour: (100 * hour) / total, piece: (100 * piece) / total };
}
