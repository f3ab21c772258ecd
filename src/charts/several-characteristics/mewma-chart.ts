import { requireFiniteValues, requireSameLength, requireWhole } from '../../checks.ts';
import type { Outcome } from '../../errors.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult } from '../control-chart.ts';
import {
  type MewmaBasis,
  type MewmaSettings,
  type PreparedMewma,
  prepareMewma,
  varianceShare,
} from './mewma-basis.ts';
import {
  requireMultivariateStandard,
  requireObservation,
  requireObservations,
} from './multivariate-checks.ts';
import type { Observation } from './multivariate-standard.ts';
import { contributions, type TSquaredContributions } from './t-squared-contributions.ts';
import { largestTSquared, tooFar, tSquared } from './whitening.ts';

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
  const made = prepareMewma(settings);
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
 * @param settings     as mewmaChart; the same for all samples of a run.
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
  const made = prepareMewma(settings);
  if (!made.available) return made;
  const width = made.basis.standard.mean.length;
  requireObservation(observation, 'observation', width, 'settings.standard.mean');
  requireWhole(state.index, 0, Number.MAX_SAFE_INTEGER - 1, 'state.index');
  requireFiniteValues(state.vector, 'state.vector');
  requireSameLength(state.vector.length, width, 'state.vector', 'settings.standard.mean');
  return { available: true, ...step(state, observation, made, 'observation') };
}

function startOf({ standard }: Pick<MewmaBasis, 'standard'>): MewmaState {
  return { index: 0, vector: standard.mean.map(() => 0) };
}

function step(state: MewmaState, observation: Observation, prepared: PreparedMewma, argument: string) {
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
