import { requireFraction, requireSameLength, requireWhole } from '../../checks.ts';
import { type Outcome, StatisticsError } from '../../errors.ts';
import type { Subgroup, SubgroupStatistics } from '../../samples/subgroup.ts';
import { signalsOf } from '../chart-point.ts';
import type { ControlChart, ControlLimits } from '../control-chart.ts';
import { statisticsOfSubgroups } from '../variables/chart-pair.ts';
import { type EstimateStandardOptions, estimateStandard } from '../variables/estimate-standard.ts';
import {
  type Extremes,
  type GroupChartOptions,
  type GroupPoints,
  type GroupSettings,
  type GroupStandard,
  type GroupState,
  judgeOf,
  type LanePoint,
  type LaneRunSignal,
} from './judge-lanes.ts';
import { noRun } from './lane-run.ts';
import type { LaneRunLength } from './lane-run-length.ts';

export interface GroupBasis {
  readonly standard: GroupStandard;
  readonly method: EstimateStandardOptions['method'] | 'given';
  /** Lane subgroups and readings that the standard was estimated from; 0 for a given standard. */
  readonly subgroupsUsed: number;
  readonly readingsUsed: number;
  readonly lanes: readonly string[];
  /** The rule for runs and what it costs. */
  readonly run: LaneRunLength;
}

export interface LaneChart extends ControlChart<ControlLimits> {
  readonly points: readonly LanePoint[];
}

export interface GroupChart extends Extremes<LaneChart> {
  readonly basis: GroupBasis;
  readonly runs: readonly LaneRunSignal[];
  /** 0-based places of the points outside their limits; those of runs stand in `runs`. */
  readonly signals: Extremes<readonly number[]>;
}

/**
 * Group control chart: several lanes (cavities, spindles, weld heads) that should make the same part, on one chart. Only the
 * largest and the smallest lane mean and the largest lane range of each sample are plotted, each with the lane it comes
 * from: where the extremes are inside, so is everything between. A lane that stays extreme too many times in a row is a
 * signal as well. For lanes with known levels of their own, take the deviation from each level first.
 *
 * Lanes with different numbers of readings have different limits; the one farthest out against its own is plotted.
 * A lane without a reading is left out of that sample. A run ends where its lane is missing, shares the edge with
 * another lane, or has none to be compared with.
 *
 * @param samples  samples[sample][lane] = readings of that lane, one unit; every sample with the same 2 … 1000 lanes, each
 *                 with 0 … 100 readings, null for a missing one.
 * @param options  names, standard or its estimate, convention of the limits (groupLimits), run length.
 * @returns        three charts in the unit of the readings, and the runs. Unavailable as estimateStandard.
 * @throws         StatisticsError `empty`, `too-few-values` (fewer than 2 lanes), `sizes-differ`, `not-finite` (names the
 *                 reading), `out-of-range`, `not-an-integer`, `unknown-name`.
 *
 * Source: ISO 7870-5, group control charts; Montgomery, Introduction to Statistical Quality Control, section 10.3.2;
 * Nelson, Journal of Quality Technology 18(4), 1986, for runs.
 *
 * @example
 * groupChart([[[20.1, 20.3], [19.9, 20.2]], [[20.2, 20.2], [19.8, 19.9]]], { lanes: ['A', 'B'] });
 * // available, largest.points[0].laneName "A", smallest.points[1].laneName "B", signals.largest [], runs []
 */
export function groupChart(
  samples: readonly (readonly Subgroup[])[],
  options: GroupChartOptions = {},
): Outcome<GroupChart> {
  if (samples.length === 0) throw new StatisticsError('empty', 'samples', samples);
  const laneCount = samples[0]!.length;
  const statistics = samples.map((lanes, index) => laneStatistics(lanes, laneCount, `samples.${index}`));
  const { method = 'range' } = options;
  const estimated =
    options.standard === undefined
      ? estimateStandard(statistics.flat(), { method })
      : ({ available: true, standard: options.standard, subgroupsUsed: 0, readingsUsed: 0 } as const);
  if (!estimated.available) return estimated;
  const { mean, withinSubgroupStandardDeviation } = estimated.standard;
  const standard = { mean, withinSubgroupStandardDeviation };
  const judge = judgeOf({ ...options, standard }, laneCount, 'options');

  let state: GroupState = groupStart();
  const points: GroupPoints[] = [];
  for (const lanes of statistics) {
    const next = judge.sample(state, lanes);
    points.push(next.points);
    state = next.state;
  }
  const largest = points.map((point) => point.largest);
  const smallest = points.map((point) => point.smallest);
  const largestRange = points.map((point) => point.largestRange);
  return {
    available: true,
    basis: {
      standard,
      method: options.standard === undefined ? method : 'given',
      subgroupsUsed: estimated.subgroupsUsed,
      readingsUsed: estimated.readingsUsed,
      lanes: judge.names,
      run: judge.run,
    },
    largest: { statistic: 'largest lane mean', points: largest },
    smallest: { statistic: 'smallest lane mean', points: smallest },
    largestRange: { statistic: 'largest lane range', points: largestRange },
    runs: points.flatMap((point) => point.runs),
    signals: {
      largest: signalsOf(largest),
      smallest: signalsOf(smallest),
      largestRange: signalsOf(largestRange),
    },
  };
}

/**
 * State of a live group chart before its first sample.
 *
 * @returns a small plain object for groupNext, ready to be stored.
 *
 * Source: as groupChart.
 *
 * @example
 * groupStart();
 * // index 0, largest.length 0, smallest.length 0
 */
export function groupStart(): GroupState {
  return { index: 0, largest: noRun, smallest: noRun };
}

/**
 * The next points of a live group chart; the cost does not grow with history.
 *
 * @param state     what groupStart or the last groupNext returned.
 * @param lanes     readings of each lane in this sample, as in groupChart.
 * @param settings  standard, names of the lanes, convention of the limits, run length.
 * @returns         the three points, the runs that are a signal now, and the next state.
 * @throws          StatisticsError as groupChart; `out-of-range` for a state that no chart can be in.
 *
 * Source: as groupChart.
 *
 * @example
 * const settings = { standard: { mean: 20, withinSubgroupStandardDeviation: 0.1 }, lanes: ['A', 'B'] };
 * groupNext(groupStart(), [[20.1, 20.3], [19.6, 19.7]], settings);
 * // points.smallest.laneName "B", points.smallest.beyondLimits true, state.smallest.lane 1
 */
export function groupNext(
  state: GroupState,
  lanes: readonly Subgroup[],
  settings: GroupSettings,
): { readonly state: GroupState; readonly points: GroupPoints } {
  requireWhole(state.index, 0, Number.MAX_SAFE_INTEGER - 1, 'state.index');
  const statistics = laneStatistics(lanes, lanes.length, 'lanes');
  for (const side of ['largest', 'smallest'] as const) {
    const { lane, length, probability } = state[side];
    requireWhole(length, 0, state.index, `state.${side}.length`);
    if (lane !== null) requireWhole(lane, 0, lanes.length - 1, `state.${side}.lane`);
    if (probability !== 1) requireFraction(probability, `state.${side}.probability`);
  }
  return judgeOf(settings, lanes.length, 'settings').sample(state, statistics);
}

function laneStatistics(
  lanes: readonly Subgroup[],
  laneCount: number,
  argument: string,
): SubgroupStatistics[] {
  requireSameLength(lanes.length, laneCount, argument, 'the first sample');
  if (lanes.length === 0)
    throw new StatisticsError('empty', argument, lanes, 'At least two lanes are needed.');
  if (lanes.length === 1)
    throw new StatisticsError('too-few-values', argument, 1, 'A group chart needs at least two lanes.');
  requireWhole(lanes.length, 2, 1000, argument);
  return statisticsOfSubgroups(lanes, argument).map((one, lane) => {
    requireWhole(one.size, 0, 100, `${argument}.${lane}`);
    return one;
  });
}
