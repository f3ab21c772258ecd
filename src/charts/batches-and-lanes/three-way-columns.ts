import { requireName } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';
import { rangeMoments } from '../../samples/range-moments.ts';
import type { ControlLimits } from '../control-chart.ts';
import { requireColumns } from '../require-columns.ts';
import { countSubgroups } from '../variables/count-subgroups.ts';
import { fillMeansAndRanges, refuseReadings } from '../variables/fill-means-and-ranges.ts';
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

  if (within === 'range') fillMeansAndRanges(readings, subgroupSize, means, spreads, d2);
  else fillMeansAndDeviations(readings, subgroupSize, means, spreads);
  judge(limits, result);
  // The first subgroup has no mean before it; its 0 stands for nothing.
  movingRangesBeyondLimits[0] = 0;
  return result;
}

/** As subgroupStatistics: distances from the first reading, squares about the mean less what its rounding adds. */
function fillMeansAndDeviations(
  readings: Float64Array,
  subgroupSize: number,
  means: Float64Array,
  standardDeviations: Float64Array,
): void {
  for (let index = 0, start = 0; index < means.length; index++, start += subgroupSize) {
    const origin = readings[start]!;
    const end = start + subgroupSize;
    let fromOrigin = 0;
    for (let place = start + 1; place < end; place++) fromOrigin += readings[place]! - origin;
    const mean = origin + fromOrigin / subgroupSize;
    let squares = 0;
    let remainder = 0;
    for (let place = start; place < end; place++) {
      const deviation = readings[place]! - mean;
      squares += deviation * deviation;
      remainder += deviation;
    }
    const variance = Math.max(0, squares - (remainder * remainder) / subgroupSize) / (subgroupSize - 1);
    if (!(variance < Infinity)) refuseReadings(readings, start, subgroupSize);
    means[index] = mean;
    standardDeviations[index] = Math.sqrt(variance);
  }
}

/** Moving ranges and flags in one pass. */
function judge(limits: ReturnType<typeof threeWayLimits>, columns: ThreeWayColumns): void {
  const { means, movingRanges, spreads } = columns;
  const { meansBeyondLimits, movingRangesBeyondLimits, spreadsBeyondLimits } = columns;
  const [lowerMean, upperMean] = bounds(limits.mean!);
  const [lowerMoving, upperMoving] = bounds(limits.movingRange!);
  const [lowerSpread, upperSpread] = bounds(limits.within!);
  let previous = means[0]!;
  for (let index = 0; index < means.length; index++) {
    const mean = means[index]!;
    const moved = Math.abs(mean - previous);
    const spread = spreads[index]!;
    previous = mean;
    if (!(moved + spread < Infinity))
      throw new StatisticsError('out-of-range', 'readings', spread, 'The readings lie too far apart.');
    movingRanges[index] = moved;
    meansBeyondLimits[index] = mean > upperMean ? 1 : mean < lowerMean ? 2 : 0;
    movingRangesBeyondLimits[index] = moved > upperMoving ? 1 : moved < lowerMoving ? 2 : 0;
    spreadsBeyondLimits[index] = spread > upperSpread ? 1 : spread < lowerSpread ? 2 : 0;
  }
}

function bounds({ lowerControlLimit, upperControlLimit }: ControlLimits): readonly [number, number] {
  return [lowerControlLimit ?? -Infinity, upperControlLimit ?? Infinity];
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
