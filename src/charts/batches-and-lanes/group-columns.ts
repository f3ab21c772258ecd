import { requireWhole } from '../../checks.ts';
import { requireColumns } from '../require-columns.ts';
import { countSubgroups } from '../variables/count-subgroups.ts';
import { fillMeansAndRanges } from '../variables/fill-means-and-ranges.ts';
import type { GroupLimits } from './group-limits.ts';
import { type GroupSettings, groupLimitsOf } from './judge-lanes.ts';

export interface GroupColumnSettings extends Omit<GroupSettings, 'lanes' | 'runLength'> {
  /** Lanes in each sample, 2 … 1000. */
  readonly laneCount: number;
  /** Readings of each lane, 1 … 100. */
  readonly subgroupSize: number;
}

/** Extremes: one entry a sample. Flags: 0 inside or on the limits, 1 above the upper, 2 below the lower limit. */
export interface GroupColumns {
  /** One entry for each lane of each sample, as in the readings. */
  readonly laneMeans: Float64Array;
  readonly laneRanges: Float64Array;
  readonly largestMeans: Float64Array;
  readonly smallestMeans: Float64Array;
  readonly largestRanges: Float64Array;
  /** 0-based; the first of several equal ones. */
  readonly largestLanes: Uint16Array;
  readonly smallestLanes: Uint16Array;
  readonly largestRangeLanes: Uint16Array;
  /** Samples in a row with the same lane alone at that edge; 0 where two share it. */
  readonly largestRuns: Uint32Array;
  readonly smallestRuns: Uint32Array;
  readonly largestBeyondLimits: Uint8Array;
  readonly smallestBeyondLimits: Uint8Array;
  readonly rangesBeyondLimits: Uint8Array;
}

/**
 * Group control chart of a long series at once: the numbers of groupChart with a given standard, in columns; nothing is
 * allocated a point.
 *
 * @param readings  sample after sample, in each lane after lane, in each its readings; one unit, none missing.
 * @param settings  number of lanes, readings of each, standard, convention of the limits.
 * @param columns   columns of an earlier call to fill again; absent: new ones.
 * @returns         the columns, in the unit of the readings. Single readings have ranges of 0, never beyond limits.
 * @throws          StatisticsError `empty`, `sizes-differ` (readings, columns), `not-finite` (names the reading),
 *                  `out-of-range`, `not-an-integer`.
 *
 * Source: as groupChart.
 *
 * @example
 * groupColumns(Float64Array.of(20.1, 20.3, 19.6, 19.7), {
 *   laneCount: 2, subgroupSize: 2, standard: { mean: 20, withinSubgroupStandardDeviation: 0.1 },
 * });
 * // largestLanes.0 0, smallestLanes.0 1, smallestBeyondLimits.0 2, smallestRuns.0 1
 */
export function groupColumns(
  readings: Float64Array,
  settings: GroupColumnSettings,
  columns?: GroupColumns,
): GroupColumns {
  const { laneCount, subgroupSize } = settings;
  requireWhole(laneCount, 2, 1000, 'settings.laneCount');
  requireWhole(subgroupSize, 1, 100, 'settings.subgroupSize');
  const limits = groupLimitsOf(settings, laneCount, subgroupSize, 'settings');
  const samples = countSubgroups(readings, laneCount * subgroupSize);
  const filled = columns ?? newColumns(samples, laneCount);
  const { laneMeans, laneRanges, ...extremes } = filled;
  requireColumns({ laneMeans, laneRanges }, samples * laneCount, 'columns.', 'lanes');
  requireColumns(extremes, samples, 'columns.', 'samples');

  fillMeansAndRanges(readings, subgroupSize, laneMeans, laneRanges, 1);
  fillExtremes(laneCount, filled);
  fillFlags(limits, filled);
  return filled;
}

/** Largest and smallest of each sample, where they are, and for how long they have been there. */
function fillExtremes(laneCount: number, columns: GroupColumns): void {
  const { laneMeans, laneRanges, largestMeans, smallestMeans, largestRanges } = columns;
  const { largestLanes, smallestLanes, largestRangeLanes, largestRuns, smallestRuns } = columns;
  let largestRun = 0;
  let smallestRun = 0;
  let runningLargest = -1;
  let runningSmallest = -1;
  for (let sample = 0, place = 0; sample < largestMeans.length; sample++, place += laneCount) {
    let largest = laneMeans[place]!;
    let smallest = largest;
    let range = laneRanges[place]!;
    let largestLane = 0;
    let smallestLane = 0;
    let rangeLane = 0;
    let largestTied = false;
    let smallestTied = false;
    for (let lane = 1; lane < laneCount; lane++) {
      const mean = laneMeans[place + lane]!;
      if (mean > largest) {
        largest = mean;
        largestLane = lane;
        largestTied = false;
      } else if (mean === largest) largestTied = true;
      if (mean < smallest) {
        smallest = mean;
        smallestLane = lane;
        smallestTied = false;
      } else if (mean === smallest) smallestTied = true;
      if (laneRanges[place + lane]! > range) {
        range = laneRanges[place + lane]!;
        rangeLane = lane;
      }
    }
    largestRun = largestTied ? 0 : largestLane === runningLargest ? largestRun + 1 : 1;
    smallestRun = smallestTied ? 0 : smallestLane === runningSmallest ? smallestRun + 1 : 1;
    runningLargest = largestTied ? -1 : largestLane;
    runningSmallest = smallestTied ? -1 : smallestLane;
    largestMeans[sample] = largest;
    smallestMeans[sample] = smallest;
    largestRanges[sample] = range;
    largestLanes[sample] = largestLane;
    smallestLanes[sample] = smallestLane;
    largestRangeLanes[sample] = rangeLane;
    largestRuns[sample] = largestRun;
    smallestRuns[sample] = smallestRun;
  }
}

function fillFlags({ mean, range }: GroupLimits, columns: GroupColumns): void {
  const { largestMeans, smallestMeans, largestRanges } = columns;
  const { largestBeyondLimits, smallestBeyondLimits, rangesBeyondLimits } = columns;
  const upper = mean.upperControlLimit!;
  const lower = mean.lowerControlLimit!;
  const upperRange = range === null ? Infinity : range.upperControlLimit!;
  for (let sample = 0; sample < largestMeans.length; sample++) {
    const largest = largestMeans[sample]!;
    const smallest = smallestMeans[sample]!;
    largestBeyondLimits[sample] = largest > upper ? 1 : largest < lower ? 2 : 0;
    smallestBeyondLimits[sample] = smallest > upper ? 1 : smallest < lower ? 2 : 0;
    rangesBeyondLimits[sample] = largestRanges[sample]! > upperRange ? 1 : 0;
  }
}

function newColumns(samples: number, laneCount: number): GroupColumns {
  return {
    laneMeans: new Float64Array(samples * laneCount),
    laneRanges: new Float64Array(samples * laneCount),
    largestMeans: new Float64Array(samples),
    smallestMeans: new Float64Array(samples),
    largestRanges: new Float64Array(samples),
    largestLanes: new Uint16Array(samples),
    smallestLanes: new Uint16Array(samples),
    largestRangeLanes: new Uint16Array(samples),
    largestRuns: new Uint32Array(samples),
    smallestRuns: new Uint32Array(samples),
    largestBeyondLimits: new Uint8Array(samples),
    smallestBeyondLimits: new Uint8Array(samples),
    rangesBeyondLimits: new Uint8Array(samples),
  };
}
