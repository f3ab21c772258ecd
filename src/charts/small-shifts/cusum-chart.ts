import { requireBetween, requireName, requirePositive } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ControlChart } from '../control-chart.ts';
import { requireReading, requireTimeWeighted, type TimeWeightedOptions } from './time-weighted.ts';

export interface CusumSettings extends TimeWeightedOptions {
  /**
   * Reference value k, 0 … 10, in standard deviations of the plotted value: half the shift that has to be found.
   * Default 0.5.
   */
  readonly referenceValue?: number;
  /** Decision interval h, above 0, at most 1000, in standard deviations of the plotted value. Default 5. */
  readonly decisionInterval?: number;
  /** Fast initial response: start of each sum as a fraction of the decision interval, 0 … 1. Default 0 (none); 0.5 is usual. */
  readonly headStart?: number;
  /** Which way a shift matters. Default 'both'. */
  readonly sides?: 'both' | 'upper' | 'lower';
}

/** What the sums and limits were computed from, every default filled in. */
export interface CusumBasis {
  readonly target: number;
  readonly withinSubgroupStandardDeviation: number;
  readonly size: number;
  readonly sides: 'both' | 'upper' | 'lower';
  /** K = kσ/√n, in the unit of the characteristic. */
  readonly referenceValue: number;
  /** H = hσ/√n, in the unit of the characteristic. */
  readonly decisionInterval: number;
  /** Start of each sum, in the unit of the characteristic. */
  readonly headStart: number;
}

/** One of the two sums. */
export interface CusumSide extends ControlChart {
  /** Samples in a row, the point's own included, since the sum was last zero; missing samples are not counted. */
  readonly counters: readonly number[];
  readonly signals: readonly number[];
}

/** What a signal says about the process. */
export interface CusumChange {
  readonly side: 'upper' | 'lower';
  /** Estimated mean of the process since the change, in the unit of the characteristic. */
  readonly estimatedMean: number;
  /** 0-based place of the first sample since the sum was last zero: the change most likely began here. */
  readonly firstSample: number;
}

export interface CusumChart {
  /** Sum of what lies above target + K; null where only the lower side is watched. */
  readonly upper: CusumSide | null;
  /**
   * Sum of what lies below target − K, plotted below zero (its limit is −H), so that both sums fit in one picture in
   * which a process that moves down goes down. null where only the upper side is watched.
   */
  readonly lower: CusumSide | null;
  readonly basis: CusumBasis;
  /** 0-based places of the points strictly beyond either limit, ascending. */
  readonly signals: readonly number[];
  /** The first signal; null where there is none. */
  readonly firstSignal: (CusumChange & { readonly index: number }) | null;
}

/** All that the next point needs of history. */
export interface CusumState {
  /** Place of the next sample. */
  readonly index: number;
  readonly upper: CusumSum;
  readonly lower: CusumSum;
}

interface CusumSum {
  /** The sum, ≥ 0 on both sides, in the unit of the characteristic. */
  readonly value: number;
  /** Samples since the sum was last zero. */
  readonly counter: number;
  /** Place of the first of them. */
  readonly since: number;
}

/** A sample on a live CUSUM chart. */
export interface CusumPoint {
  readonly upper: ChartPoint | null;
  readonly lower: ChartPoint | null;
  readonly upperCounter: number;
  readonly lowerCounter: number;
  /** null while neither sum is beyond its limit. */
  readonly change: CusumChange | null;
}

/**
 * Tabular CUSUM chart: C⁺ᵢ = max(0, C⁺ᵢ₋₁ + xᵢ − (target + K)) and C⁻ᵢ = max(0, C⁻ᵢ₋₁ + (target − K) − xᵢ). A sum beyond H
 * signals a lasting shift; the samples since it was zero tell when the shift began and where the mean is now,
 * target + K + C⁺/N⁺ or target − K − C⁻/N⁻. The sums are not set back after a signal.
 *
 * A missing value (null) brings no news: sums and counters repeat, size 0, no signal.
 *
 * @param values   single values or subgroup means of one size in time order, in one unit; null for a missing one;
 *                 may be empty.
 * @param options  target, standard deviation, size, reference value, decision interval, head start, sides.
 * @returns        a chart for each side watched, in the unit of the values.
 * @throws         StatisticsError `not-finite`, `out-of-range` (numbers beyond ±10²⁹⁰ too), `not-an-integer`,
 *                 `unknown-name`.
 *
 * Source: ISO 7870-4; Montgomery, Introduction to Statistical Quality Control, section 9.1, eq. 9.2 to 9.5; head start:
 * Lucas and Crosier, Technometrics 24(3), 1982.
 *
 * @example
 * cusumChart([10.2, 11.9, 11.6, 12.3], { target: 10, withinSubgroupStandardDeviation: 1, decisionInterval: 4 });
 * // upper.points[3].value 4.3…, lower.points[3].value 0, upper.counters [0, 1, 2, 3], firstSignal.firstSample 1
 */
export function cusumChart(values: readonly (number | null)[], options: CusumSettings): CusumChart {
  const basis = cusumBasis(options, 'options');
  let state = startFrom(basis);
  const samples = values.map((value, index) => {
    if (value !== null) requireReading(value, `values.${index}`);
    const next = step(state, value, basis);
    state = next.state;
    return next.point;
  });
  const first = samples.findIndex(({ change }) => change !== null);
  const side = (name: 'upper' | 'lower'): CusumSide | null => {
    if (basis.sides !== 'both' && basis.sides !== name) return null;
    const points = samples.map((sample) => sample[name]!);
    const counters = samples.map(({ upperCounter, lowerCounter }) =>
      name === 'upper' ? upperCounter : lowerCounter,
    );
    return { statistic: `${name} cumulative sum`, points, counters, signals: signalsOf(points) };
  };
  return {
    upper: side('upper'),
    lower: side('lower'),
    basis,
    signals: samples.flatMap(({ change }, index) => (change === null ? [] : [index])),
    firstSignal: first < 0 ? null : { ...samples[first]!.change!, index: first },
  };
}

/**
 * State of a live CUSUM chart before its first sample; also the fresh start after a signal has been dealt with.
 *
 * @param settings  as in cusumChart.
 * @returns         a small plain object for cusumNext, ready to be stored.
 * @throws          StatisticsError as cusumChart.
 *
 * Source: ISO 7870-4.
 *
 * @example
 * cusumStart({ target: 10, withinSubgroupStandardDeviation: 1, decisionInterval: 4, headStart: 0.5 });
 * // index 0, upper.value 2, upper.counter 0
 */
export function cusumStart(settings: CusumSettings): CusumState {
  return startFrom(cusumBasis(settings, 'settings'));
}

/**
 * The next point of a live CUSUM chart; the cost does not grow with history.
 *
 * @param state     what cusumStart or the last cusumNext returned.
 * @param value     the new value or subgroup mean; null for a missing one.
 * @param settings  as in cusumChart.
 * @returns         the points of both sums, what a signal says, and the state for the next sample.
 * @throws          StatisticsError as cusumChart; `out-of-range` for a state that no chart can be in.
 *
 * Source: ISO 7870-4.
 *
 * @example
 * const settings = { target: 10, withinSubgroupStandardDeviation: 1, decisionInterval: 4, headStart: 0.5 };
 * cusumNext(cusumStart(settings), 13, settings);
 * // point.upper.value 4.5, point.upper.beyondLimits true, point.change.estimatedMean 15, state.index 1
 */
export function cusumNext(
  state: CusumState,
  value: number | null,
  settings: CusumSettings,
): { readonly state: CusumState; readonly point: CusumPoint } {
  const basis = cusumBasis(settings, 'settings');
  requireBetween(state.index, 0, Number.MAX_SAFE_INTEGER - 1, 'state.index');
  for (const side of ['upper', 'lower'] as const) {
    requireBetween(state[side].value, 0, Number.MAX_VALUE, `state.${side}.value`);
    requireBetween(state[side].counter, 0, state.index, `state.${side}.counter`);
    requireBetween(state[side].since, 0, state.index, `state.${side}.since`);
  }
  if (value !== null) requireReading(value, 'value');
  return step(state, value, basis);
}

/** The settings with their defaults, checked, K and H in the unit of the characteristic. */
export function cusumBasis(options: CusumSettings, argument: string): CusumBasis {
  requireTimeWeighted(options, argument);
  const { target, withinSubgroupStandardDeviation, size = 1, sides = 'both' } = options;
  const { referenceValue = 0.5, decisionInterval = 5, headStart = 0 } = options;
  requireBetween(referenceValue, 0, 10, `${argument}.referenceValue`);
  requirePositive(decisionInterval, `${argument}.decisionInterval`);
  requireBetween(decisionInterval, 0, 1000, `${argument}.decisionInterval`);
  requireBetween(headStart, 0, 1, `${argument}.headStart`);
  requireName(sides, ['both', 'upper', 'lower'], `${argument}.sides`);
  const standardDeviation = withinSubgroupStandardDeviation / Math.sqrt(size);
  return {
    target,
    withinSubgroupStandardDeviation,
    size,
    sides,
    referenceValue: referenceValue * standardDeviation,
    decisionInterval: decisionInterval * standardDeviation,
    headStart: headStart * decisionInterval * standardDeviation,
  };
}

function startFrom({ headStart }: CusumBasis): CusumState {
  const sum = { value: headStart, counter: 0, since: 0 };
  return { index: 0, upper: sum, lower: sum };
}

function step(state: CusumState, value: number | null, basis: CusumBasis) {
  const { target, size, sides, referenceValue, decisionInterval } = basis;
  const { index } = state;
  const missing = value === null;
  const upper = missing ? state.upper : add(state.upper, value - target - referenceValue, index);
  const lower = missing ? state.lower : add(state.lower, target - value - referenceValue, index);
  const readings = missing ? 0 : size;
  const plotted = (sum: number, lowerControlLimit: number | null, upperControlLimit: number | null) => {
    const point = chartPoint(index, sum, readings, { centerLine: 0, lowerControlLimit, upperControlLimit });
    return missing ? { ...point, beyondLimits: false } : point;
  };
  const upperPoint = sides === 'lower' ? null : plotted(upper.value, null, decisionInterval);
  // 0 − 0 is 0 where −0 would be a second zero.
  const lowerPoint = sides === 'upper' ? null : plotted(0 - lower.value, -decisionInterval, null);
  let change: CusumChange | null = null;
  if (upperPoint?.beyondLimits)
    change = {
      side: 'upper',
      estimatedMean: target + referenceValue + upper.value / upper.counter,
      firstSample: upper.since,
    };
  else if (lowerPoint?.beyondLimits)
    change = {
      side: 'lower',
      estimatedMean: target - referenceValue - lower.value / lower.counter,
      firstSample: lower.since,
    };
  const point: CusumPoint = {
    upper: upperPoint,
    lower: lowerPoint,
    upperCounter: upper.counter,
    lowerCounter: lower.counter,
    change,
  };
  return { state: { index: index + 1, upper, lower }, point };
}

function add(sum: CusumSum, excess: number, index: number): CusumSum {
  const value = Math.max(0, sum.value + excess);
  if (!Number.isFinite(value))
    throw new StatisticsError('out-of-range', 'state', value, 'The sum has become too large to compute.');
  if (value === 0) return { value, counter: 0, since: index + 1 };
  return { value, counter: sum.counter + 1, since: sum.counter === 0 ? index : sum.since };
}
