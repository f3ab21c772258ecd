import { requireName } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { rangeMoments } from '../samples/range-moments.ts';
import type { ControlLimits } from './control-chart.ts';
import { countSubgroups } from './count-subgroups.ts';
import { fillMeansAndRanges } from './fill-means-and-ranges.ts';
import { requireColumns } from './require-columns.ts';
import { requireStandard, type ThreeWaySettings, threeWayLimits } from './three-way-chart.ts';

export interface ThreeWayColumnSettings extends ThreeWaySettings {
  /** Readings of each subgroup, 2 … 100. */
  readonly subgroupSize: number;
}

/** One entry a subgroup. Flags: 0 inside or on the limits, 1 above the upper, 2 below the lower limit. */
export interface ThreeWayColumns {
  readonly means: Float64Array;
  /** Distance to the mean before; 0 for the first subgroup. */
  readonly movingRanges: Float64Array;
  /** Range or standard deviation inside each subgroup. */
  readonly spreads: Float64Array;
  readonly meansBeyondLimits: Uint8Array;
  readonly movingRangesBeyondLimits: Uint8Array;
  readonly spreadsBeyondLimits: Uint8Array;
}

/**
 * Three-way chart of a long series at once: the numbers of threeWayChart with a given standard, in columns; nothing is
 * allocated a point.
 *
 * @param readings  subgroup after subgroup in one unit, length a whole multiple of subgroupSize, none missing.
 * @param settings  subgroup size, standard, what the chart inside shows, multiple, natural bounds.
 * @param columns   columns of an earlier call to fill again; absent: new ones.
 * @returns         the columns, in the unit of the readings.
 * @throws          StatisticsError `empty`, `sizes-differ` (readings, columns), `not-finite` (names the reading),
 *                  `out-of-range`, `not-an-integer`, `unknown-name`, `limits-reversed`.
 *
 * Source: as threeWayChart.
 *
 * @example
 * const standard = { mean: 10.4, withinSubgroupStandardDeviation: 0.12, meanStandardDeviation: 0.6 };
 * threeWayColumns(Float64Array.of(10.1, 10.3, 12.3, 12.5), { subgroupSize: 2, standard });
 * // means.1 12.4, meansBeyondLimits.1 1, movingRanges.1 2.20…, spreads.0 0.20…
 */
export function threeWayColumns(
  readings: Float64Array,
  settings: ThreeWayColumnSettings,
  columns?: ThreeWayColumns,
): ThreeWayColumns {
  const { subgroupSize, standard, within = 'range' } = settings;
  const { d2 } = rangeMoments(subgroupSize, 'settings.subgroupSize');
  requireName(within, ['range', 'standard-deviation'], 'settings.within');
  requireStandard(standard, 'settings.standard');
  const count = countSubgroups(readings, subgroupSize);
  const limits = threeWayLimits(standard, subgroupSize, settings);
  const filled = columns ?? newColumns(count);
  const { means, movingRanges, spreads } = filled;
  const { meansBeyondLimits, movingRangesBeyondLimits, spreadsBeyondLimits } = filled;
  const result = {
    means,
    movingRanges,
    spreads,
    meansBeyondLimits,
    movingRangesBeyondLimits,
    spreadsBeyondLimits,
  };
  requireColumns(result, count, 'columns.', 'subgroups');

  fillMeansAndRanges(readings, subgroupSize, means, spreads, d2);
  if (within === 'standard-deviation') fillStandardDeviations(readings, subgroupSize, means, spreads);
  let previous = means[0]!;
  for (let index = 0; index < count; index++) {
    const mean = means[index]!;
    movingRanges[index] = Math.abs(mean - previous);
    previous = mean;
  }
  flag(means, limits.mean!, meansBeyondLimits);
  flag(movingRanges, limits.movingRange!, movingRangesBeyondLimits);
  // The first subgroup has no mean before it; its 0 stands for nothing.
  movingRangesBeyondLimits[0] = 0;
  flag(spreads, limits.within!, spreadsBeyondLimits);
  return result;
}

/** As subgroupStatistics: squares about the mean, less what the rounding of the mean adds. */
function fillStandardDeviations(
  readings: Float64Array,
  subgroupSize: number,
  means: Float64Array,
  standardDeviations: Float64Array,
): void {
  for (let index = 0, place = 0; index < means.length; index++) {
    const mean = means[index]!;
    let squares = 0;
    let remainder = 0;
    for (const end = place + subgroupSize; place < end; place++) {
      const deviation = readings[place]! - mean;
      squares += deviation * deviation;
      remainder += deviation;
    }
    const variance = Math.max(0, squares - (remainder * remainder) / subgroupSize) / (subgroupSize - 1);
    standardDeviations[index] = Math.sqrt(variance);
  }
}

function flag(
  values: Float64Array,
  { lowerControlLimit, upperControlLimit }: ControlLimits,
  beyondLimits: Uint8Array,
): void {
  const lower = lowerControlLimit ?? -Infinity;
  const upper = upperControlLimit ?? Infinity;
  for (let index = 0; index < values.length; index++) {
    const value = values[index]!;
    if (!(value < Infinity))
      throw new StatisticsError('out-of-range', 'readings', value, 'The readings lie too far apart.');
    beyondLimits[index] = value > upper ? 1 : value < lower ? 2 : 0;
  }
}

function newColumns(count: number): ThreeWayColumns {
  return {
    means: new Float64Array(count),
    movingRanges: new Float64Array(count),
    spreads: new Float64Array(count),
    meansBeyondLimits: new Uint8Array(count),
    movingRangesBeyondLimits: new Uint8Array(count),
    spreadsBeyondLimits: new Uint8Array(count),
  };
}
