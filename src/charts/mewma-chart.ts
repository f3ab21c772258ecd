import {
  requireBetween,
  requireFiniteValues,
  requireName,
  requirePositive,
  requireSameLength,
  requireWhole,
} from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { chiSquareQuantile } from '../numerics/chi-square.ts';
import { chartPoint, signalsOf } from './chart-point.ts';
import type { ChartPoint, ChartResult, LimitLines } from './control-chart.ts';
import { fillTSquared } from './fill-t-squared.ts';
import {
  type MultivariateStandard,
  type Observation,
  requireMultivariateStandard,
  requireObservation,
  requireObservations,
} from './multivariate-standard.ts';
import { columnsFor, refuseRow, type TSquaredColumns } from './t-squared-columns.ts';
import { contributions, type TSquaredContributions } from './t-squared-contributions.ts';
import {
  characteristicNames,
  largestTSquared,
  tooFar,
  tSquared,
  type Whitening,
  whitening,
} from './whitening.ts';

/** Target and covariance of the vectors that are charted, and how the chart weighs and judges them. */
export interface MewmaSettings {
  /** Mean vector (target) and covariance; its subgroupSize and samplesUsed are not used. */
  readonly standard: MultivariateStandard;
  /** Smoothing parameter λ, 0 < λ ≤ 1: weight of the newest observation. Default 0.1. */
  readonly smoothing?: number;
  /** Limit of T², > 0: mewmaLimit finds the one with a wanted average run length. */
  readonly upperControlLimit: number;
  /**
   * 'time-varying': exact covariance of the average at every point. 'asymptotic': where it settles, from the first
   * point on. Default 'time-varying'.
   */
  readonly limits?: 'time-varying' | 'asymptotic';
  /** Observations behind each vector, whole, 1 … 10⁶. Default 1. */
  readonly size?: number;
  /** Names of the characteristics, for the sentences. Default 'characteristic 1' … */
  readonly names?: readonly string[];
}

export interface MewmaBasis {
  readonly standard: MultivariateStandard;
  readonly smoothing: number;
  readonly limits: 'time-varying' | 'asymptotic';
  readonly size: number;
  readonly names: readonly string[];
}

/** All that the next point needs of history. */
export interface MewmaState {
  /** Place of the next sample. */
  readonly index: number;
  /** The weighted average of deviations from the target, in the units of the characteristics. */
  readonly vector: readonly number[];
}

/** A point with the vector behind it, and what made it a signal; null where it is none. */
export interface MewmaPoint extends ChartPoint {
  readonly vector: readonly number[];
  readonly contributions: TSquaredContributions | null;
}

export interface MewmaChart extends ChartResult<MewmaBasis> {
  /** The weighted average of deviations behind each point. */
  readonly vectors: readonly (readonly number[])[];
  /** One entry a signal, in the order of `signals`. */
  readonly contributions: readonly TSquaredContributions[];
}

/**
 * Multivariate EWMA chart: zᵢ = λ(xᵢ − target) + (1 − λ)zᵢ₋₁ from z₀ = 0, and T² of zᵢ with its covariance
 * λ/(2 − λ) · (1 − (1 − λ)²ⁱ) · S. Small lasting shifts of several characteristics add up, as on an EWMA chart.
 *
 * @param observations  rows of p finite numbers in time order, 1 ≤ p ≤ 100; of subgroups, their mean vectors.
 * @param settings      standard, smoothing, limit, kind of covariance, size, names.
 * @returns             points (center line: median in control), the vectors, and at each signal the characteristic that
 *                      contributes most; Unavailable `singular-covariance`.
 * @throws              StatisticsError `empty`, `not-finite` (names the reading), `sizes-differ`, `out-of-range`,
 *                      `not-an-integer`, `unknown-name`.
 *
 * Source: ISO 7870-7; Lowry, Woodall, Champ and Rigdon, Technometrics 34(1), 1992.
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: null, subgroupSize: 1, method: 'given' };
 * mewmaChart([[10, 5], [11, 4]], { standard, upperControlLimit: 8.64 });
 * // available, points[0].value 0, points[1].value 11.04…, vectors[1][0] 0.1, signals [1]
 */
export function mewmaChart(
  observations: readonly Observation[],
  settings: MewmaSettings,
): Outcome<MewmaChart> {
  const made = prepare(settings);
  if (!made.available) return made;
  requireObservations(observations, 'observations', made.basis.standard.mean.length);
  let state = startOf(made.basis);
  const points = observations.map((observation, index) => {
    const next = step(state, observation, made, `observations.${index}`);
    state = next.state;
    return next.point;
  });
  const plain = points.map(({ vector: _, contributions: __, ...point }) => point);
  return {
    available: true,
    statistic: 'multivariate exponentially weighted moving average',
    points: plain,
    basis: made.basis,
    signals: signalsOf(plain),
    vectors: points.map(({ vector }) => vector),
    contributions: points.flatMap(({ contributions: one }) => (one === null ? [] : [one])),
  };
}

/**
 * State of a live multivariate EWMA chart before its first sample.
 *
 * @param settings  as mewmaChart.
 * @returns         a small plain object for mewmaNext, ready to be stored.
 * @throws          as mewmaChart.
 *
 * Source: as mewmaChart.
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: null, subgroupSize: 1, method: 'given' };
 * mewmaStart({ standard, upperControlLimit: 8.64 });
 * // index 0, vector [0, 0]
 */
export function mewmaStart(settings: MewmaSettings): MewmaState {
  requireMultivariateStandard(settings.standard, 'settings.standard');
  return startOf(settings);
}

/**
 * The next point of a live multivariate EWMA chart; the cost does not grow with history.
 *
 * @param state        what mewmaStart or the last mewmaNext returned.
 * @param observation  p finite numbers.
 * @param settings     as mewmaChart; `size` is that of this sample.
 * @returns            the point and the state for the next one; Unavailable `singular-covariance`.
 * @throws             as mewmaChart.
 *
 * Source: as mewmaChart.
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: null, subgroupSize: 1, method: 'given' };
 * const settings = { standard, upperControlLimit: 8.64 };
 * mewmaNext(mewmaStart(settings), [11, 4], settings);
 * // available, point.value 20.0…, point.beyondLimits true, state.vector [0.1, -0.1]
 */
export function mewmaNext(
  state: MewmaState,
  observation: Observation,
  settings: MewmaSettings,
): Outcome<{ readonly state: MewmaState; readonly point: MewmaPoint }> {
  const made = prepare(settings);
  if (!made.available) return made;
  const width = made.basis.standard.mean.length;
  requireObservation(observation, 'observation', width, 'settings.standard.mean');
  requireWhole(state.index, 0, Number.MAX_SAFE_INTEGER - 1, 'state.index');
  requireFiniteValues(state.vector, 'state.vector');
  requireSameLength(state.vector.length, width, 'state.vector', 'settings.standard.mean');
  return { available: true, ...step(state, observation, made, 'observation') };
}

/**
 * Multivariate EWMA chart of a long series at once: the values of mewmaChart, without an object a point.
 *
 * @param observations  m · p finite numbers, row after row.
 * @param settings      as mewmaChart.
 * @param columns       columns of m entries to write over; default new ones.
 * @returns             the columns; Unavailable `singular-covariance`.
 * @throws              as mewmaChart.
 *
 * Source: as mewmaChart.
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: null, subgroupSize: 1, method: 'given' };
 * mewmaColumns(Float64Array.of(10, 5, 11, 4), { standard, upperControlLimit: 8.64 });
 * // available, values.0 0, values.1 11.04…, beyondLimits.1 1
 */
export function mewmaColumns(
  observations: Float64Array,
  settings: MewmaSettings,
  columns?: TSquaredColumns,
): Outcome<TSquaredColumns> {
  const made = prepare(settings);
  if (!made.available) return made;
  const { mean } = made.basis.standard;
  const p = mean.length;
  const center = Float64Array.from(mean);
  const { inverseFactor } = made.whitening;
  const { values, beyondLimits } = columnsFor(observations, p, columns);
  const count = values.length;
  const { smoothing, limits, size } = made.basis;
  const kept = 1 - smoothing;
  const { upperControlLimit } = settings;
  const settledPrecision = size / varianceShare(smoothing, Infinity);
  // The share of the start dies out; from there on the covariance is the settled one to the last digit.
  const settles = limits === 'asymptotic' ? 0 : settledAfter(smoothing);
  // The averages of a block of rows first, one after the other; then their T², several at a time.
  // Its first row is the average before the block.
  const averages = new Float64Array((Math.min(count, blockRows) + 1) * p);
  const block = averages.subarray(p);
  for (let from = 0; from < count; from += blockRows) {
    const rows = Math.min(blockRows, count - from);
    for (let row = 0, place = 0, start = from * p; row < rows; row++)
      for (let j = 0; j < p; j++, place++, start++)
        averages[place + p] = smoothing * (observations[start]! - center[j]!) + kept * averages[place]!;
    fillTSquared(block, made.whitening.mean, inverseFactor, values, from, rows);
    averages.copyWithin(0, rows * p, (rows + 1) * p);
    for (let row = from; row < from + rows; row++) {
      const precision = row < settles ? size / varianceShare(smoothing, row + 1) : settledPrecision;
      const value = precision * values[row]!;
      if (!(value <= largestTSquared)) refuseRow(observations, row * p, p);
      values[row] = value;
      beyondLimits[row] = value > upperControlLimit ? 1 : 0;
    }
  }
  return { available: true, values, beyondLimits };
}

/** Few enough that a block of averages stays in the nearest memory. */
const blockRows = 256;

/** Covariance of the weighted average of `count` vectors, as a multiple of that of one. */
function varianceShare(smoothing: number, count: number): number {
  // −expm1 keeps the digits where (1 − λ)²ⁱ is close to 1.
  return (smoothing / (2 - smoothing)) * -Math.expm1(2 * count * Math.log1p(-smoothing));
}

/** Points after which (1 − λ)²ⁱ is below half a unit in the last digit of 1. */
function settledAfter(smoothing: number): number {
  return smoothing === 1 ? 1 : Math.ceil(-38 / (2 * Math.log1p(-smoothing)));
}

interface Prepared {
  readonly basis: MewmaBasis;
  readonly lines: LimitLines;
  /** About zero: it whitens the average of deviations. */
  readonly whitening: Whitening;
}

function prepare(settings: MewmaSettings): Outcome<Prepared> {
  const { standard, smoothing = 0.1, upperControlLimit, limits = 'time-varying', size = 1 } = settings;
  requireMultivariateStandard(standard, 'settings.standard');
  requireSmoothing(smoothing, 'settings.smoothing');
  requirePositive(upperControlLimit, 'settings.upperControlLimit');
  requireName(limits, ['time-varying', 'asymptotic'], 'settings.limits');
  requireWhole(size, 1, 1e6, 'settings.size');
  const names = characteristicNames(settings.names, standard.mean.length, 'settings.names');
  const made = whitening(standard, names);
  if (!made.available) return made;
  return {
    available: true,
    basis: { standard, smoothing, limits, size, names },
    // T² of the average is chi-square distributed in control: half of the points lie above the center line.
    lines: {
      centerLine: chiSquareQuantile(0.5, standard.mean.length),
      lowerControlLimit: null,
      upperControlLimit,
    },
    whitening: { ...made.whitening, mean: new Float64Array(standard.mean.length) },
  };
}

/** λ between 10⁻⁶ and 1: below that the chart would need millions of points to move. */
function requireSmoothing(smoothing: number, argument: string): void {
  requireBetween(smoothing, 1e-6, 1, argument);
}

function startOf({ standard }: Pick<MewmaBasis, 'standard'>): MewmaState {
  return { index: 0, vector: standard.mean.map(() => 0) };
}

function step(state: MewmaState, observation: Observation, prepared: Prepared, argument: string) {
  const { smoothing, limits, size, names, standard } = prepared.basis;
  const vector = state.vector.map(
    (before, j) => smoothing * (observation[j]! - standard.mean[j]!) + (1 - smoothing) * before,
  );
  const precision = size / varianceShare(smoothing, limits === 'asymptotic' ? Infinity : state.index + 1);
  const value = precision * tSquared(prepared.whitening, vector, argument);
  if (!(value <= largestTSquared)) throw tooFar(argument, observation);
  const point = chartPoint(state.index, value, size, prepared.lines);
  return {
    state: { index: state.index + 1, vector },
    point: {
      ...point,
      vector,
      contributions: point.beyondLimits ? contributions(vector, prepared.whitening, precision, names) : null,
    },
  };
}
