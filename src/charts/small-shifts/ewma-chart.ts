import { requireBetween, requireName, requirePositive } from '../../checks.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult } from '../control-chart.ts';
import {
  requireMultiple,
  requireReading,
  requireSizes,
  requireTimeWeighted,
  type TimeWeightedOptions,
  type VaryingSizes,
} from './time-weighted.ts';

export interface EwmaSettings extends TimeWeightedOptions {
  /** Smoothing parameter λ, 0 < λ ≤ 1: weight of the newest value. Small sees small shifts; 1 is a plain chart. Default 0.2. */
  readonly smoothing?: number;
  /** Standard deviations of the plotted average between center line and limit, above 0, at most 1000. Default 3. */
  readonly multiple?: number;
  /**
   * 'time-varying': exact at every point, narrow at first. 'asymptotic': where they settle, from the first point on.
   * Default 'time-varying'.
   */
  readonly limits?: 'time-varying' | 'asymptotic';
  /** Value of the average before the first sample, in the unit of the characteristic. Default: the target. */
  readonly start?: number;
}

export interface EwmaOptions extends EwmaSettings, VaryingSizes {}

/** What the limits were computed from, every default filled in. */
export interface EwmaBasis {
  readonly target: number;
  readonly withinSubgroupStandardDeviation: number;
  readonly smoothing: number;
  readonly multiple: number;
  readonly limits: 'time-varying' | 'asymptotic';
  readonly start: number;
}

/** All that the next point needs of history. */
export interface EwmaState {
  /** Place of the next sample. */
  readonly index: number;
  /** The average, in the unit of the characteristic. */
  readonly value: number;
  /** Variance of the average, as a multiple of the variance of a single reading. */
  readonly varianceRatio: number;
}

/**
 * EWMA chart: each point is an exponentially weighted moving average, zᵢ = zᵢ₋₁ + λ(xᵢ − zᵢ₋₁), so that a small lasting
 * shift adds up. Its variance follows the same weights, vᵢ = λ²σ²/nᵢ + (1 − λ)²vᵢ₋₁ from v₀ = 0, which is exact for
 * every size; 'asymptotic' limits use σ²/nᵢ · λ/(2 − λ) instead.
 *
 * A missing value (null) brings no news: average and limits repeat, size 0, no signal.
 *
 * @param values   single values or subgroup means in time order, in one unit; null for a missing one; may be empty.
 * @param options  target, standard deviation, sizes, smoothing, multiple, kind of limits, start.
 * @returns        one point a value, in the unit of the values; standard deviation of the average with the limits.
 * @throws         StatisticsError `not-finite`, `out-of-range` (numbers beyond ±10²⁹⁰ too), `not-an-integer`,
 *                 `sizes-differ`, `unknown-name`.
 *
 * Source: ISO 7870-6; Montgomery, Introduction to Statistical Quality Control, section 9.2; Lucas and Saccucci,
 * Technometrics 32(1), 1990.
 *
 * @example
 * ewmaChart([52, 47, 53], { target: 50, withinSubgroupStandardDeviation: 2, smoothing: 0.3 });
 * // points[0].value 50.6, points[0].limits.upperControlLimit 51.8, points[1].limits.upperControlLimit 52.197…, signals []
 */
export function ewmaChart(values: readonly (number | null)[], options: EwmaOptions): ChartResult<EwmaBasis> {
  const { sizes } = options;
  const basis = ewmaBasis(options, 'options');
  if (sizes !== undefined) requireSizes(sizes, values, 'options.sizes');
  let state = startFrom(basis);
  const points = values.map((value, index) => {
    const size = sizes?.[index] ?? options.size ?? 1;
    if (value !== null) requireReading(value, `values.${index}`);
    const next = step(state, value, size, basis);
    state = next.state;
    return next.point;
  });
  return { statistic: 'exponentially weighted moving average', points, basis, signals: signalsOf(points) };
}

/**
 * State of a live EWMA chart before its first sample.
 *
 * @param settings  as in ewmaChart.
 * @returns         a small plain object for ewmaNext, ready to be stored.
 * @throws          StatisticsError as ewmaChart.
 *
 * Source: ISO 7870-6.
 *
 * @example
 * ewmaStart({ target: 50, withinSubgroupStandardDeviation: 2 });
 * // index 0, value 50, varianceRatio 0
 */
export function ewmaStart(settings: EwmaSettings): EwmaState {
  return startFrom(ewmaBasis(settings, 'settings'));
}

/**
 * The next point of a live EWMA chart; the cost does not grow with history.
 *
 * @param state     what ewmaStart or the last ewmaNext returned.
 * @param value     the new value or subgroup mean; null for a missing one.
 * @param settings  as in ewmaChart; `size` is that of this sample and may differ from sample to sample.
 * @returns         the point and the state for the next one.
 * @throws          StatisticsError as ewmaChart; `out-of-range` for a state that no chart can be in.
 *
 * Source: ISO 7870-6.
 *
 * @example
 * const settings = { target: 50, withinSubgroupStandardDeviation: 2, smoothing: 0.3 };
 * ewmaNext(ewmaStart(settings), 52, settings);
 * // point.value 50.6, point.beyondLimits false, state.index 1
 */
export function ewmaNext(
  state: EwmaState,
  value: number | null,
  settings: EwmaSettings,
): { readonly state: EwmaState; readonly point: ChartPoint } {
  const basis = ewmaBasis(settings, 'settings');
  requireReading(state.value, 'state.value');
  requireBetween(state.varianceRatio, 0, 1, 'state.varianceRatio');
  requireBetween(state.index, 0, Number.MAX_SAFE_INTEGER - 1, 'state.index');
  if (value !== null) requireReading(value, 'value');
  return step(state, value, settings.size ?? 1, basis);
}

/** The settings with their defaults, checked. */
export function ewmaBasis(options: EwmaSettings, argument: string): EwmaBasis {
  requireTimeWeighted(options, argument);
  const { target, withinSubgroupStandardDeviation, smoothing = 0.2, multiple = 3 } = options;
  const { limits = 'time-varying', start = target } = options;
  requirePositive(smoothing, `${argument}.smoothing`);
  requireBetween(smoothing, 0, 1, `${argument}.smoothing`);
  requireMultiple(multiple, `${argument}.multiple`);
  requireName(limits, ['time-varying', 'asymptotic'], `${argument}.limits`);
  requireReading(start, `${argument}.start`);
  return { target, withinSubgroupStandardDeviation, smoothing, multiple, limits, start };
}

function startFrom({ start }: EwmaBasis): EwmaState {
  return { index: 0, value: start, varianceRatio: 0 };
}

function step(state: EwmaState, value: number | null, size: number, basis: EwmaBasis) {
  const { target, withinSubgroupStandardDeviation, smoothing, multiple } = basis;
  const kept = 1 - smoothing;
  const settled = smoothing / (2 - smoothing) / size;
  const next: EwmaState =
    value === null
      ? {
          ...state,
          index: state.index + 1,
          // Settled limits stand from the first point on, also where that one is missing.
          varianceRatio:
            basis.limits === 'asymptotic' && state.varianceRatio === 0 ? settled : state.varianceRatio,
        }
      : {
          index: state.index + 1,
          value: state.value + smoothing * (value - state.value),
          varianceRatio:
            basis.limits === 'asymptotic'
              ? settled
              : (smoothing * smoothing) / size + kept * kept * state.varianceRatio,
        };
  const width = multiple * withinSubgroupStandardDeviation * Math.sqrt(next.varianceRatio);
  const limits = {
    centerLine: target,
    lowerControlLimit: target - width,
    upperControlLimit: target + width,
  };
  const point = chartPoint(state.index, next.value, value === null ? 0 : size, limits);
  return { state: next, point: value === null ? { ...point, beyondLimits: false } : point };
}
