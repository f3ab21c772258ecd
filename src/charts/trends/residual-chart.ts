import { type Autoregression, fitAutoregression } from '../../autocorrelation/fit-autoregression.ts';
import { requireFinite, requirePositive, requireWhole } from '../../checks.ts';
import { type Outcome, StatisticsError } from '../../errors.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult, ControlLimits } from '../control-chart.ts';
import { requireMultiple, requireReading } from '../small-shifts/time-weighted.ts';

export interface ResidualChartSettings {
  readonly model: Autoregression;
  /** Standard deviations between center line and limit, above 0, at most 1000. Default 3. */
  readonly multiple?: number;
}

/** The model behind the chart and how many pairs it was fitted to; 0 for a given model. */
export interface ResidualChartBasis {
  readonly model: Autoregression;
  readonly multiple: number;
  readonly pairs: number;
}

/** All that the next point needs of history. */
export interface ResidualState {
  /** Place of the next sample. */
  readonly index: number;
  /** The last value less the mean, in the unit of the values; 0 before the first. */
  readonly deviation: number;
  /** Samples since that value, 1 for the one just before; null before the first value. */
  readonly gap: number | null;
}

/**
 * Residual chart of values that remember each other: each point is what the last value did not foretell, so that points
 * are independent and the limits keep their promise.
 *
 * The residual is eₜ = (xₜ − mean) − φ(xₜ₋₁ − mean). The first value, and one after missing ones, is foretold less well
 * and is therefore divided by how much: all points have the same standard deviation and the same limits 0 ± k · it.
 * With a positive φ a lasting step shows in full in the first residual only and then as (1 − φ) of it: a signal
 * stands alone, so look at the values around it.
 *
 * @param values   in time order, equally spaced, one unit; null for a missing value; may be empty with a given model.
 * @param options  model (absent: fitted to the series itself), multiple.
 * @returns        residuals with limits, in the unit of the values; null at missing values. Unavailable as
 *                 fitAutoregression.
 * @throws         StatisticsError `empty`, `not-finite` (names the value), `out-of-range`.
 *
 * Source: ISO 7870-9; Alwan and Roberts, Journal of Business and Economic Statistics 6(1), 1988; scaling after missing
 * values: Jones, Technometrics 22(3), 1980.
 *
 * @example
 * residualChart([10, 11, 15], { model: { mean: 10, coefficient: 0.5, residualStandardDeviation: 1 } });
 * // available, points[1].value 1, points[2].value 4.5, points[2].limits.upperControlLimit 3, signals [2]
 */
export function residualChart(
  values: readonly (number | null)[],
  options: Partial<ResidualChartSettings> = {},
): Outcome<ChartResult<ResidualChartBasis, ControlLimits>> {
  const { model: given, multiple = 3 } = options;
  requireMultiple(multiple, 'options.multiple');
  if (given !== undefined) requireModel(given, 'options.model');
  values.forEach((value, index) => {
    if (value !== null) requireReading(value, `values.${index}`);
  });
  const fitted = given === undefined ? fitAutoregression(values) : null;
  if (fitted?.available === false) return fitted;
  const { mean, coefficient, residualStandardDeviation } = given ?? fitted!;
  const model = { mean, coefficient, residualStandardDeviation };
  const limits = limitsOf(model, multiple);
  let state = start;
  const points = values.map((value) => {
    const next = step(state, value, model, limits);
    state = next.state;
    return next.point;
  });
  return {
    available: true,
    statistic: 'residual',
    points,
    basis: { model, multiple, pairs: fitted?.pairs ?? 0 },
    signals: signalsOf(points),
  };
}

/**
 * State of a live residual chart before its first sample.
 *
 * @param settings  as residualChart, with a model.
 * @returns         a small plain object for residualNext, ready to be stored.
 * @throws          as residualChart.
 *
 * Source: as residualChart.
 *
 * @example
 * residualStart({ model: { mean: 10, coefficient: 0.5, residualStandardDeviation: 1 } });
 * // index 0, deviation 0, gap null
 */
export function residualStart(settings: ResidualChartSettings): ResidualState {
  requireModel(settings.model, 'settings.model');
  return start;
}

/**
 * The next point of a live residual chart; the cost does not grow with history.
 *
 * @param state     what residualStart or the last residualNext returned.
 * @param value     the new value; null for a missing one.
 * @param settings  as residualChart, with a model.
 * @returns         the point and the state for the next one.
 * @throws          as residualChart.
 *
 * Source: as residualChart.
 *
 * @example
 * const settings = { model: { mean: 10, coefficient: 0.5, residualStandardDeviation: 1 } };
 * residualNext({ index: 1, deviation: 1, gap: 1 }, 15, settings);
 * // point.value 4.5, point.beyondLimits true, state.deviation 5
 */
export function residualNext(
  state: ResidualState,
  value: number | null,
  settings: ResidualChartSettings,
): { readonly state: ResidualState; readonly point: ChartPoint<ControlLimits> } {
  const { model, multiple = 3 } = settings;
  requireModel(model, 'settings.model');
  requireMultiple(multiple, 'settings.multiple');
  requireWhole(state.index, 0, Number.MAX_SAFE_INTEGER - 1, 'state.index');
  requireReading(state.deviation, 'state.deviation');
  if (state.gap !== null) requireWhole(state.gap, 1, Number.MAX_SAFE_INTEGER - 1, 'state.gap');
  if (value !== null) requireReading(value, 'value');
  return step(state, value, model, limitsOf(model, multiple));
}

export function requireModel(model: Autoregression, argument: string): void {
  requireReading(model.mean, `${argument}.mean`);
  requirePositive(model.residualStandardDeviation, `${argument}.residualStandardDeviation`);
  requireReading(model.residualStandardDeviation, `${argument}.residualStandardDeviation`);
  requireFinite(model.coefficient, `${argument}.coefficient`);
  if (Math.abs(model.coefficient) >= 1)
    throw new StatisticsError(
      'out-of-range',
      `${argument}.coefficient`,
      model.coefficient,
      'It must lie between −1 and 1, neither included: otherwise the process has no level to return to.',
    );
}

export function limitsOf({ residualStandardDeviation }: Autoregression, multiple: number): ControlLimits {
  return {
    centerLine: 0,
    lowerControlLimit: -multiple * residualStandardDeviation,
    upperControlLimit: multiple * residualStandardDeviation,
    standardDeviation: residualStandardDeviation,
  };
}

const start: ResidualState = { index: 0, deviation: 0, gap: null };

function step(
  state: ResidualState,
  value: number | null,
  { mean, coefficient }: Autoregression,
  limits: ControlLimits,
) {
  const { index, deviation, gap } = state;
  if (value === null) {
    const waiting = { index: index + 1, deviation, gap: gap === null ? null : gap + 1 };
    return { state: waiting, point: chartPoint(index, null, 0, limits) };
  }
  const next = value - mean;
  const residual = (next - coefficient ** (gap ?? Infinity) * deviation) / widening(coefficient, gap);
  return {
    state: { index: index + 1, deviation: next, gap: 1 },
    point: chartPoint(index, residual, 1, limits),
  };
}

/** Standard deviation of what a value `gap` samples ago leaves open, over that of one sample ago. */
export function widening(coefficient: number, gap: number | null): number {
  if (gap === 1) return 1;
  return Math.sqrt((1 - coefficient ** (2 * (gap ?? Infinity))) / (1 - coefficient * coefficient));
}
