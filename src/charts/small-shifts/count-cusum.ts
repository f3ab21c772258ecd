/** The one core of CUSUM charts for counts by log-likelihood ratio: binomial and Poisson differ in two weights. */
import { requireBetween, requirePositive, requireSameLength, requireWhole } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';
import {
  type CountDistribution,
  type CountSample,
  requireCountAndSize,
  requireCountSample,
} from '../attributes/count-sample.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult } from '../control-chart.ts';

export interface CountCusumSettings {
  /** Proportion nonconforming, or nonconformities per unit, of the process as it should be. */
  readonly inControl: number;
  /** The level that has to be found soon: above inControl for an upward chart, below for a downward one. */
  readonly outOfControl: number;
  /** The sum signals when it passes this, in units of log-likelihood; > 0, at most 1e6. */
  readonly decisionInterval: number;
  /** Start of the sum for a fast initial response, from 0 to the decision interval. Default 0. */
  readonly headStart?: number;
}

export interface CountCusumBasis {
  readonly distribution: CountDistribution;
  readonly direction: 'upward' | 'downward';
  readonly inControl: number;
  readonly outOfControl: number;
  readonly decisionInterval: number;
  readonly headStart: number;
  /** What one counted event, and one part or unit, add to the sum. */
  readonly weightPerEvent: number;
  readonly weightPerUnit: number;
  /** Events per part or unit at which the sum neither rises nor falls, between the two levels. */
  readonly referenceValue: number;
}

/** All that the next point needs of history. */
export interface CountCusumState {
  /** Place of the next sample. */
  readonly index: number;
  readonly sum: number;
  /** Place of the first sample since the sum was last 0: the change most likely began there. */
  readonly since: number;
}

export interface CountCusumPoint extends ChartPoint {
  /** Place of the first sample since the sum was last 0. */
  readonly since: number;
}

export interface CountCusumChart extends ChartResult<CountCusumBasis> {
  readonly points: readonly CountCusumPoint[];
}

/** One entry a point. */
export interface CountCusumColumns {
  readonly values: Float64Array;
  /** 0 inside or on the decision interval, 1 above. */
  readonly beyondLimits: Uint8Array;
}

const largestSum = 1e300;

export function countCusumBasis(
  distribution: CountDistribution,
  settings: CountCusumSettings,
  argument: string,
): CountCusumBasis {
  const { inControl, outOfControl, decisionInterval, headStart = 0 } = settings;
  // Nearer to 0 or 1 the two levels could no longer be told apart.
  const most = distribution === 'binomial' ? 1 - 1e-9 : 1e12;
  requireBetween(inControl, 1e-12, most, `${argument}.inControl`);
  requireBetween(outOfControl, 1e-12, most, `${argument}.outOfControl`);
  if (Math.abs(outOfControl - inControl) <= 1e-9 * inControl)
    throw new StatisticsError(
      'out-of-range',
      `${argument}.outOfControl`,
      outOfControl,
      'It must differ from inControl: above it to watch for more events, below it for fewer.',
    );
  requirePositive(decisionInterval, `${argument}.decisionInterval`);
  requireBetween(decisionInterval, 0, 1e6, `${argument}.decisionInterval`);
  requireBetween(headStart, 0, decisionInterval, `${argument}.headStart`);
  const logRatio = Math.log(outOfControl / inControl);
  const logRatioOfRest = Math.log1p(-outOfControl) - Math.log1p(-inControl);
  const weightPerUnit = distribution === 'binomial' ? logRatioOfRest : inControl - outOfControl;
  const weightPerEvent = distribution === 'binomial' ? logRatio - logRatioOfRest : logRatio;
  return {
    distribution,
    direction: outOfControl > inControl ? 'upward' : 'downward',
    inControl,
    outOfControl,
    decisionInterval,
    headStart,
    weightPerEvent,
    weightPerUnit,
    referenceValue: -weightPerUnit / weightPerEvent,
  };
}

export function countCusumStart(basis: CountCusumBasis): CountCusumState {
  return { index: 0, sum: basis.headStart, since: 0 };
}

function requireCountCusumState(state: CountCusumState): void {
  requireWhole(state.index, 0, Number.MAX_SAFE_INTEGER - 1, 'state.index');
  requireBetween(state.sum, 0, largestSum, 'state.sum');
  requireWhole(state.since, 0, state.index, 'state.since');
}

/** A missing sample brings no news: the sum repeats and does not signal. */
function countCusumStep(
  state: CountCusumState,
  sample: CountSample | null,
  basis: CountCusumBasis,
): { readonly state: CountCusumState; readonly point: CountCusumPoint } {
  const { weightPerEvent, weightPerUnit, decisionInterval } = basis;
  const { index } = state;
  const limits = { centerLine: 0, lowerControlLimit: null, upperControlLimit: decisionInterval };
  if (sample === null) {
    const point = { ...chartPoint(index, state.sum, 0, limits), beyondLimits: false, since: state.since };
    return { state: { ...state, index: index + 1 }, point };
  }
  const { count, size } = sample;
  const sum = Math.min(largestSum, Math.max(0, state.sum + (weightPerEvent * count + weightPerUnit * size)));
  return {
    state: { index: index + 1, sum, since: sum === 0 ? index + 1 : state.since },
    point: { ...chartPoint(index, sum, size, limits), since: state.since },
  };
}

export function countCusumChart(
  samples: readonly (CountSample | null)[],
  basis: CountCusumBasis,
): CountCusumChart {
  let state = countCusumStart(basis);
  const points = samples.map((sample, index) => {
    if (sample !== null) requireCountSample(sample, basis.distribution, `samples.${index}`);
    const next = countCusumStep(state, sample, basis);
    state = next.state;
    return next.point;
  });
  return { statistic: 'log-likelihood cumulative sum', points, basis, signals: signalsOf(points) };
}

export function countCusumNext(
  state: CountCusumState,
  sample: CountSample | null,
  basis: CountCusumBasis,
): { readonly state: CountCusumState; readonly point: CountCusumPoint } {
  requireCountCusumState(state);
  if (sample !== null) requireCountSample(sample, basis.distribution, 'sample');
  return countCusumStep(state, sample, basis);
}

export function countCusumColumns(
  counts: Float64Array,
  sizes: Float64Array,
  basis: CountCusumBasis,
  columns: CountCusumColumns | undefined,
): CountCusumColumns {
  requireSameLength(sizes.length, counts.length, 'sizes', 'counts');
  const filled = columns ?? {
    values: new Float64Array(counts.length),
    beyondLimits: new Uint8Array(counts.length),
  };
  for (const name of ['values', 'beyondLimits'] as const)
    requireSameLength(filled[name].length, counts.length, `columns.${name}`, 'counts');
  const { values, beyondLimits } = filled;
  const { distribution, weightPerEvent, weightPerUnit, decisionInterval } = basis;
  const binomial = distribution === 'binomial';
  let sum = basis.headStart;
  for (let index = 0; index < counts.length; index++) {
    const count = counts[index]!;
    const size = sizes[index]!;
    const plausible = binomial
      ? count >= 0 &&
        count <= size &&
        size >= 1 &&
        size <= Number.MAX_SAFE_INTEGER &&
        Math.floor(size) === size
      : count >= 0 && count <= Number.MAX_SAFE_INTEGER && size > 1e-9 && size < 1e15;
    if (!plausible || Math.floor(count) !== count)
      requireCountAndSize(count, size, distribution, `counts.${index}`, `sizes.${index}`);
    sum += weightPerEvent * count + weightPerUnit * size;
    if (!(sum > 0)) sum = 0;
    else if (sum > largestSum) sum = largestSum;
    values[index] = sum;
    beyondLimits[index] = sum > decisionInterval ? 1 : 0;
  }
  return filled;
}
