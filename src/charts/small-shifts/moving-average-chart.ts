import { requireBetween, requireSameLength, requireWhole } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult } from '../control-chart.ts';
import {
  requireMultiple,
  requireReading,
  requireSize,
  requireSizes,
  requireTimeWeighted,
  type TimeWeightedOptions,
  type VaryingSizes,
} from './time-weighted.ts';

export interface MovingAverageSettings extends TimeWeightedOptions {
  /** Values in one average, whole, 1 … 1000. Default 5. */
  readonly span?: number;
  /** Standard deviations of the plotted average between center line and limit, above 0, at most 1000. Default 3. */
  readonly multiple?: number;
}

export interface MovingAverageOptions extends MovingAverageSettings, VaryingSizes {}

/** What the limits were computed from, every default filled in. */
export interface MovingAverageBasis {
  readonly target: number;
  readonly withinSubgroupStandardDeviation: number;
  readonly span: number;
  readonly multiple: number;
}

/** All that the next point needs of history. */
export interface MovingAverageState {
  /** Place of the next sample. */
  readonly index: number;
  /** The latest values, at most `span`, oldest first, and the sizes behind them. */
  readonly values: readonly number[];
  readonly sizes: readonly number[];
}

/**
 * Moving average chart: each point is the plain average of the last `span` values, of all there are while it fills up.
 * The limits follow what is in it: the variance of the average of t values is Σ σ²/nⱼ / t², so they start wide and
 * are exact from the first point on.
 *
 * A missing value (null) brings no news: average and limits repeat, size 0, no signal; before the first value there
 * is neither average nor limit.
 *
 * @param values   single values or subgroup means in time order, in one unit; null for a missing one; may be empty.
 * @param options  target, standard deviation, sizes, span, multiple.
 * @returns        one point a value, in the unit of the values; `size` is that of the newest value.
 * @throws         StatisticsError `not-finite`, `out-of-range` (numbers beyond ±10²⁹⁰ too), `not-an-integer`,
 *                 `sizes-differ`.
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, section 9.3.
 *
 * @example
 * movingAverageChart([9, 11, 13], { target: 10, withinSubgroupStandardDeviation: 1, span: 2 });
 * // points[0].limits.upperControlLimit 13, points[1].value 10, points[2].value 12, points[2].limits.upperControlLimit 12.12…
 */
export function movingAverageChart(
  values: readonly (number | null)[],
  options: MovingAverageOptions,
): ChartResult<MovingAverageBasis> {
  const { sizes } = options;
  const basis = movingAverageBasis(options, 'options');
  if (sizes !== undefined) requireSizes(sizes, values, 'options.sizes');
  let state = movingAverageStart();
  const points = values.map((value, index) => {
    const size = sizes?.[index] ?? options.size ?? 1;
    if (value !== null) requireReading(value, `values.${index}`);
    const next = step(state, value, size, basis);
    state = next.state;
    return next.point;
  });
  return { statistic: 'moving average', points, basis, signals: signalsOf(points) };
}

/**
 * State of a live moving average chart before its first sample.
 *
 * @returns  a plain object for movingAverageNext, ready to be stored; it never grows beyond the span.
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, section 9.3.
 *
 * @example
 * movingAverageStart();
 * // index 0, values []
 */
export function movingAverageStart(): MovingAverageState {
  return { index: 0, values: [], sizes: [] };
}

/**
 * The next point of a live moving average chart; the cost grows with the span, not with history.
 *
 * @param state     what movingAverageStart or the last movingAverageNext returned.
 * @param value     the new value or subgroup mean; null for a missing one.
 * @param settings  as in movingAverageChart; `size` is that of this sample and may differ from sample to sample.
 * @returns         the point and the state for the next one.
 * @throws          StatisticsError as movingAverageChart, `sizes-differ` (state.sizes) and `out-of-range` (state.values)
 *                  for a state that no chart can be in.
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, section 9.3.
 *
 * @example
 * movingAverageNext(movingAverageStart(), 9, { target: 10, withinSubgroupStandardDeviation: 1, span: 2 });
 * // point.value 9, point.limits.lowerControlLimit 7, state.values [9]
 */
export function movingAverageNext(
  state: MovingAverageState,
  value: number | null,
  settings: MovingAverageSettings,
): { readonly state: MovingAverageState; readonly point: ChartPoint } {
  const basis = movingAverageBasis(settings, 'settings');
  requireBetween(state.index, 0, Number.MAX_SAFE_INTEGER - 1, 'state.index');
  if (state.values.length > basis.span)
    throw new StatisticsError(
      'out-of-range',
      'state.values',
      state.values.length,
      `It holds more values than the span of ${basis.span}. Start the chart anew when the span changes.`,
    );
  requireSameLength(state.sizes.length, state.values.length, 'state.sizes', 'state.values');
  for (let place = 0; place < state.values.length; place++) {
    requireReading(state.values[place]!, `state.values.${place}`);
    requireSize(state.sizes[place]!, `state.sizes.${place}`);
  }
  if (value !== null) requireReading(value, 'value');
  return step(state, value, settings.size ?? 1, basis);
}

/** The settings with their defaults, checked. */
export function movingAverageBasis(options: MovingAverageSettings, argument: string): MovingAverageBasis {
  requireTimeWeighted(options, argument);
  const { target, withinSubgroupStandardDeviation, span = 5, multiple = 3 } = options;
  requireWhole(span, 1, 1000, `${argument}.span`);
  requireMultiple(multiple, `${argument}.multiple`);
  return { target, withinSubgroupStandardDeviation, span, multiple };
}

function step(state: MovingAverageState, value: number | null, size: number, basis: MovingAverageBasis) {
  const { target, withinSubgroupStandardDeviation, span, multiple } = basis;
  const next: MovingAverageState =
    value === null
      ? { ...state, index: state.index + 1 }
      : {
          index: state.index + 1,
          values: [...state.values, value].slice(-span),
          sizes: [...state.sizes, size].slice(-span),
        };
  const count = next.values.length;
  if (count === 0) return { state: next, point: chartPoint(state.index, null, 0, null) };
  const sum = next.values.reduce((total, one) => total + one, 0);
  const variances = next.sizes.reduce((total, one) => total + 1 / one, 0);
  const width = (multiple * withinSubgroupStandardDeviation * Math.sqrt(variances)) / count;
  const limits = {
    centerLine: target,
    lowerControlLimit: target - width,
    upperControlLimit: target + width,
  };
  const point = chartPoint(state.index, sum / count, value === null ? 0 : size, limits);
  return { state: next, point: value === null ? { ...point, beyondLimits: false } : point };
}
