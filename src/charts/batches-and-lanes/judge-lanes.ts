import { requireSameLength, requireWhole } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';
import type { SubgroupStatistics } from '../../samples/subgroup.ts';
import { chartPoint } from '../chart-point.ts';
import type { ChartPoint, ControlLimits, ProcessStandard } from '../control-chart.ts';
import type { EstimateStandardOptions } from '../variables/estimate-standard.ts';
import { type GroupLimitOptions, type GroupLimits, groupLimits } from './group-limits.ts';
import { extendRun, type LaneRun } from './lane-run.ts';
import { laneRunLength } from './lane-run-length.ts';

export type GroupStandard = Pick<ProcessStandard, 'mean' | 'withinSubgroupStandardDeviation'>;

export interface GroupChartOptions extends GroupLimitOptions {
  /** Names of the lanes, in the order of the data. Default 'lane 1', 'lane 2', … */
  readonly lanes?: readonly string[];
  /** A given standard, common to all lanes. Absent: estimated from all lanes of the series together. */
  readonly standard?: GroupStandard;
  /** Estimate of the within-subgroup standard deviation, as in estimateStandard. Default 'range'. */
  readonly method?: Exclude<EstimateStandardOptions['method'], 'moving-range'>;
  /** Samples in a row with the same lane at the same edge that are a signal, 2 … 60. Default as laneRunLength. */
  readonly runLength?: number;
}

/** What one sample of all lanes needs to be judged. */
export interface GroupSettings extends Omit<GroupChartOptions, 'method'> {
  readonly standard: GroupStandard;
}

/** A point that names the lane it comes from. */
export interface LanePoint extends ChartPoint<ControlLimits> {
  /** 0-based; null where no lane has a value. The first of several equal ones. */
  readonly lane: number | null;
  readonly laneName: string | null;
}

/** The same lane at the same edge, so many times in a row that all lanes being alike hardly explains it. */
export interface LaneRunSignal {
  /** 0-based place of the sample at which the run has this length. */
  readonly index: number;
  readonly side: 'largest' | 'smallest';
  readonly lane: number;
  readonly laneName: string;
  readonly length: number;
  /** That a lane once extreme stays so for all of the run, exact for the lanes present in each sample. */
  readonly probability: number;
  /** What to do next, and why, in one sentence. */
  readonly message: string;
}

export interface Extremes<Entry> {
  readonly largest: Entry;
  readonly smallest: Entry;
  readonly largestRange: Entry;
}

/** All that the next sample needs of history. */
export interface GroupState {
  /** Place of the next sample. */
  readonly index: number;
  readonly largest: LaneRun;
  readonly smallest: LaneRun;
}

export interface GroupPoints extends Extremes<LanePoint> {
  /** Runs that this sample begins or carries on as a signal. */
  readonly runs: readonly LaneRunSignal[];
}

/** Everything about the lanes that is the same for all samples, and how one sample is judged by it. */
export function judgeOf(settings: GroupSettings, laneCount: number, argument: string) {
  const names = settings.lanes ?? Array.from({ length: laneCount }, (_, lane) => `lane ${lane + 1}`);
  requireSameLength(names.length, laneCount, `${argument}.lanes`, 'the first sample');
  const { runLength } = settings;
  if (runLength !== undefined) requireWhole(runLength, 2, 60, `${argument}.runLength`);
  const run = laneRunLength(laneCount, runLength === undefined ? {} : { runLength });
  const { standard } = settings;
  const known = new Map<number, GroupLimits>();
  const limitsFor = (lanes: number, size: number): GroupLimits => {
    const key = 1000 * size + lanes - 1;
    const limits = known.get(key) ?? groupLimitsOf(settings, lanes, size, argument);
    known.set(key, limits);
    return limits;
  };
  // Whatever is wrong with the settings is said even where no lane has a reading.
  limitsFor(laneCount, 1);

  const sample = (state: GroupState, lanes: readonly SubgroupStatistics[]) => {
    const { index } = state;
    const present = lanes.filter(({ size }) => size > 0).length;
    const withRange = lanes.filter(({ size }) => size > 1).length;
    const distance = ({ mean, size }: SubgroupStatistics) => (mean! - standard.mean) * Math.sqrt(size);
    const largest = farthest(lanes, 1, (a, b) =>
      a.size === b.size ? a.mean! - b.mean! : distance(a) - distance(b),
    );
    const smallest = farthest(lanes, 1, (a, b) =>
      a.size === b.size ? b.mean! - a.mean! : distance(b) - distance(a),
    );
    const share = ({ range, size }: SubgroupStatistics) =>
      range! / limitsFor(withRange, size).range!.upperControlLimit!;
    const range = farthest(lanes, 2, (a, b) =>
      a.size === b.size ? a.range! - b.range! : share(a) - share(b),
    );
    const pointOf = (lane: number | null, of: 'mean' | 'range'): LanePoint => {
      if (lane === null) return { ...chartPoint<ControlLimits>(index, null, 0, null), lane, laneName: null };
      const { size, [of]: value } = lanes[lane]!;
      const limits = limitsFor(of === 'mean' ? present : withRange, size)[of];
      return { ...chartPoint(index, value, size, limits), lane, laneName: names[lane]! };
    };
    const next: GroupState = {
      index: index + 1,
      largest: extendRun(state.largest, largest, present),
      smallest: extendRun(state.smallest, smallest, present),
    };
    const runs = (['largest', 'smallest'] as const).flatMap((side): LaneRunSignal[] => {
      const { lane, length, probability } = next[side];
      if (lane === null || length < run.runLength) return [];
      const laneName = names[lane]!;
      const message = `${laneName} has had the ${side} mean ${length} times in a row, which lanes that are alike do with probability ${Number(probability.toPrecision(2))}: look for what is different there.`;
      return [{ index, side, lane, laneName, length, probability, message }];
    });
    const points: GroupPoints = {
      largest: pointOf(largest.lane, 'mean'),
      smallest: pointOf(smallest.lane, 'mean'),
      largestRange: pointOf(range.lane, 'range'),
      runs,
    };
    return { state: next, points };
  };
  return { names, run, sample };
}

/** The lane that is farthest out, and whether it is alone there; the first of several equal ones. */
function farthest(
  lanes: readonly SubgroupStatistics[],
  leastSize: number,
  compare: (a: SubgroupStatistics, b: SubgroupStatistics) => number,
): { readonly lane: number | null; readonly alone: boolean } {
  let lane: number | null = null;
  let alone = false;
  for (let place = 0; place < lanes.length; place++) {
    if (lanes[place]!.size < leastSize) continue;
    const lead = lane === null ? 1 : compare(lanes[place]!, lanes[lane]!);
    if (lead > 0) {
      lane = place;
      alone = true;
    } else if (lead === 0) alone = false;
  }
  return { lane, alone };
}

/** The limits, with an error that names the field of the caller. */
export function groupLimitsOf(
  settings: GroupSettings,
  lanes: number,
  size: number,
  argument: string,
): GroupLimits {
  const { standard, multiple, falseAlarmProbability } = settings;
  try {
    return groupLimits({
      standard,
      lanes,
      size,
      ...(multiple === undefined ? {} : { multiple }),
      ...(falseAlarmProbability === undefined ? {} : { falseAlarmProbability }),
    });
  } catch (error) {
    if (!(error instanceof StatisticsError)) throw error;
    throw new StatisticsError(error.code, `${argument}.${error.argument}`, error.value);
  }
}
