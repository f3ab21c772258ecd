import { requireBetween } from '../../checks.ts';
import { chiSquareLowerTail, chiSquareUpperTail } from '../../numerics/chi-square.ts';
import { fLowerTail, fUpperTail } from '../../numerics/f-distribution.ts';
import { normalScoreOfT } from '../../numerics/normal-score-of-t.ts';
import {
  type QChart,
  type QChartOptions,
  type QColumns,
  type QOptions,
  type QPoint,
  qChart,
  qColumns,
  qOfTails,
  qPoint,
  requireQCounts,
  requireQMultiple,
  requireQReading,
  requireQReadings,
  requireQStandardDeviation,
  smallestSquares,
} from './q-statistic.ts';

export interface QVarianceKnown {
  /** 1e-140 … 1e140; absent: learnt from the values themselves. */
  readonly standardDeviation?: number;
}

export interface QVarianceSettings extends QVarianceKnown, QOptions {}

/** All that the next point needs of history. */
export interface QVarianceState {
  /** Place of the next value. */
  readonly index: number;
  /** First value of a pair that is not complete; null between pairs. */
  readonly first: number | null;
  /** Complete pairs, and the sum of their squared differences. */
  readonly pairs: number;
  readonly squares: number;
}

/**
 * Q chart for the spread of single values: the difference of each pair (first and second value, third and fourth, …) held
 * against those of the pairs before it.
 *
 * Standard deviation given: Φ⁻¹ of chi-square with 1 degree of freedom of R²/(2σ²), from the first pair on; otherwise Φ⁻¹ of
 * F with 1 and ν degrees of freedom of ν R²/Σ R², ν = pairs before, from the second pair on. Above 0 is more spread.
 *
 * @param values   in time order, one unit, within ±1e140; null for a missing one, which is passed over.
 * @param options  standardDeviation where it is known; multiple (default 3); parts: pairs are formed within a model.
 * @returns        Q at the second value of each pair, `size` 2; null elsewhere, where Q does not exist yet, and as long as
 *                 both values of every pair are equal.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `sizes-differ` (options.parts).
 *
 * Source: Quesenberry, SPC Q charts for start-up processes and short or long runs, Journal of Quality Technology 23(3),
 * 1991.
 *
 * @example
 * qVarianceChart([10.1, 9.9, 10.4, 10.0, 10.2, 10.3], {});
 * // points[1].value null, points[3].value 0.538…, points[4].value null, points[5].value -0.778…, signals []
 */
export function qVarianceChart(
  values: readonly (number | null)[],
  options: QVarianceKnown & QChartOptions = {},
): QChart<QVarianceKnown> {
  requireKnownSpread(options, 'options');
  const { standardDeviation } = options;
  return qChart(
    values.length,
    options.parts,
    'values',
    qVarianceStart(),
    (state, index) => {
      const value = values[index]!;
      if (value !== null) requireQReading(value, `values.${index}`);
      return step(state, value, options);
    },
    standardDeviation === undefined ? {} : { standardDeviation },
  );
}

/**
 * State of a live Q chart for the spread of single values before the first; keep one for each part model.
 *
 * @returns  a small plain object for qVarianceNext, ready to be stored.
 *
 * Source: as qVarianceChart.
 *
 * @example
 * qVarianceStart();
 * // index 0, first null, pairs 0
 */
export function qVarianceStart(): QVarianceState {
  return { index: 0, first: null, pairs: 0, squares: 0 };
}

/**
 * The next point of a live Q chart for the spread of single values; the cost does not grow with history.
 *
 * @param state     what qVarianceStart or the last qVarianceNext returned.
 * @param value     the new value; null for a missing one.
 * @param settings  standardDeviation where it is known; multiple.
 * @returns         the point, and the state for the next value.
 * @throws          StatisticsError as qVarianceChart; `out-of-range` for a state that no chart can be in.
 *
 * Source: as qVarianceChart.
 *
 * @example
 * const { state } = qVarianceNext(qVarianceStart(), 10, { standardDeviation: 0.1 });
 * qVarianceNext(state, 10.6, { standardDeviation: 0.1 });
 * // point.value 4.0…, point.beyondLimits true, state.pairs 1, state.first null
 */
export function qVarianceNext(
  state: QVarianceState,
  value: number | null,
  settings: QVarianceSettings,
): { readonly state: QVarianceState; readonly point: QPoint } {
  requireKnownSpread(settings, 'settings');
  requireQCounts({ index: state.index, pairs: state.pairs });
  if (state.first !== null) requireQReading(state.first, 'state.first');
  requireBetween(state.squares, 0, 1e300, 'state.squares');
  if (value !== null) requireQReading(value, 'value');
  return step(state, value, settings);
}

/**
 * Q chart for the spread of a long series of single values of one part model in columns, nothing allocated a value.
 *
 * @param values    in time order, none missing.
 * @param settings  standardDeviation where it is known; multiple.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         Q at the second value of each pair (0 elsewhere), and which are beyond ± multiple.
 * @throws          StatisticsError as qVarianceChart, `sizes-differ`.
 *
 * Source: as qVarianceChart.
 *
 * @example
 * qVarianceColumns(Float64Array.of(10, 10.6), { standardDeviation: 0.1 });
 * // values.0 0, values.1 4.0…, beyondLimits.1 1
 */
export function qVarianceColumns(
  values: Float64Array,
  settings: QVarianceSettings,
  columns?: QColumns,
): QColumns {
  requireKnownSpread(settings, 'settings');
  const filled = qColumns(values.length, columns, 'values');
  requireQReadings(values, 'values');
  const { multiple = 3, standardDeviation } = settings;
  const { values: plotted, beyondLimits } = filled;
  plotted.fill(0);
  beyondLimits.fill(0);
  let squares = 0;
  for (let index = 1, pairs = 0; index < values.length; index += 2, pairs++) {
    const square = (values[index]! - values[index - 1]!) ** 2;
    const q = qOfSquare(square, pairs, squares, standardDeviation) ?? 0;
    squares += square;
    plotted[index] = q;
    beyondLimits[index] = q > multiple ? 1 : q < -multiple ? 2 : 0;
  }
  return filled;
}

function step(
  state: QVarianceState,
  value: number | null,
  { standardDeviation, multiple = 3 }: QVarianceSettings,
) {
  const { index, first, pairs, squares } = state;
  if (value === null)
    return { state: { ...state, index: index + 1 }, point: qPoint(index, null, 0, multiple) };
  if (first === null)
    return { state: { ...state, index: index + 1, first: value }, point: qPoint(index, null, 1, multiple) };
  const square = (value - first) ** 2;
  return {
    state: { index: index + 1, first: null, pairs: pairs + 1, squares: squares + square },
    point: qPoint(index, qOfSquare(square, pairs, squares, standardDeviation), 2, multiple),
  };
}

/** Q of the squared difference of a pair after `pairs` others; null where it does not exist yet. */
function qOfSquare(
  square: number,
  pairs: number,
  squares: number,
  standardDeviation: number | undefined,
): number | null {
  if (standardDeviation !== undefined)
    return qOfChiSquare(square / standardDeviation / standardDeviation / 2, 1);
  return pairs === 0 || squares < smallestSquares ? null : qOfF((square / squares) * pairs, 1, pairs);
}

/** z with the same probability as a chi-square value. */
export function qOfChiSquare(value: number, degreesOfFreedom: number): number {
  const within = Math.min(value, Number.MAX_VALUE);
  return qOfTails(chiSquareLowerTail(within, degreesOfFreedom), chiSquareUpperTail(within, degreesOfFreedom));
}

/** z with the same probability as a value of F. */
export function qOfF(value: number, numerator: number, denominator: number): number {
  // F with numerator 1 is the square of t.
  if (numerator === 1 && denominator >= 1000 && value <= 144)
    return qOfChiSquare(normalScoreOfT(Math.sqrt(value), denominator) ** 2, 1);
  const within = Math.min(value, Number.MAX_VALUE);
  return qOfTails(fLowerTail(within, numerator, denominator), fUpperTail(within, numerator, denominator));
}

function requireKnownSpread({ multiple, standardDeviation }: QVarianceSettings, argument: string): void {
  requireQMultiple(multiple ?? 3, `${argument}.multiple`);
  if (standardDeviation !== undefined)
    requireQStandardDeviation(standardDeviation, `${argument}.standardDeviation`);
}
