import { requireBetween } from '../../checks.ts';
import { normalScoreOfT } from '../../numerics/normal-score-of-t.ts';
import { studentTLowerTail } from '../../numerics/student-t.ts';
import {
  certainQ,
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

/** What is known of the process; what is absent is learnt from the values themselves. */
export interface QMeanKnown {
  /** Within ±1e140. */
  readonly mean?: number;
  /** 1e-140 … 1e140. */
  readonly standardDeviation?: number;
}

export interface QMeanSettings extends QMeanKnown, QOptions {}

/** All that the next point needs of history. */
export interface QMeanState {
  /** Place of the next value. */
  readonly index: number;
  /** Values so far, their mean, and the sum of their squared distances from the mean (the given one if there is one). */
  readonly count: number;
  readonly mean: number;
  readonly squares: number;
}

/**
 * Q chart for the mean by single values: charting starts with the second or third piece of a new part, without any trial
 * run. Each value is held against those before it:
 *
 * - mean and standard deviation given: (x − μ)/σ, from the first value on;
 * - only the standard deviation given: √((r − 1)/r)(x_r − x̄_{r−1})/σ, from the second on;
 * - only the mean given: Φ⁻¹ of Student's t with r − 1 degrees of freedom, from the second on;
 * - neither: the same with √((r − 1)/r)(x_r − x̄_{r−1})/s_{r−1} and r − 2 degrees of freedom, from the third on.
 *
 * In control the Q values are independent and standard normal. A shift that happens early is learnt as the new level after
 * a few values, so act on the first signal.
 *
 * @param values   in time order, one unit, within ±1e140; null for a missing one, which is passed over.
 * @param options  mean and standardDeviation where they are known; multiple (default 3); parts.
 * @returns        Q at each value, `size` 1; null where Q does not exist yet, or as long as all values are equal.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `sizes-differ` (options.parts).
 *
 * Source: Quesenberry, SPC Q charts for start-up processes and short or long runs, Journal of Quality Technology 23(3),
 * 1991.
 *
 * @example
 * qMeanChart([10.1, 9.9, 10.4, 10.0], {});
 * // points[1].value null, points[2].value 1.126…, points[3].value -0.396…, signals []
 */
export function qMeanChart(
  values: readonly (number | null)[],
  options: QMeanKnown & QChartOptions = {},
): QChart<QMeanKnown> {
  requireKnown(options, 'options');
  return qChart(
    values.length,
    options.parts,
    'values',
    qMeanStart(),
    (state, index) => {
      const value = values[index]!;
      if (value !== null) requireQReading(value, `values.${index}`);
      return step(state, value, options);
    },
    known(options),
  );
}

/**
 * State of a live Q chart for the mean before the first value; keep one for each part model.
 *
 * @returns  a small plain object for qMeanNext, ready to be stored.
 *
 * Source: as qMeanChart.
 *
 * @example
 * qMeanStart();
 * // index 0, count 0
 */
export function qMeanStart(): QMeanState {
  return { index: 0, count: 0, mean: 0, squares: 0 };
}

/**
 * The next point of a live Q chart for the mean; the cost does not grow with history.
 *
 * @param state     what qMeanStart or the last qMeanNext returned.
 * @param value     the new value; null for a missing one.
 * @param settings  mean and standardDeviation where they are known; multiple.
 * @returns         the point, and the state for the next value.
 * @throws          StatisticsError as qMeanChart; `out-of-range` for a state that no chart can be in.
 *
 * Source: as qMeanChart.
 *
 * @example
 * qMeanNext(qMeanStart(), 12, { mean: 10, standardDeviation: 0.5 });
 * // point.value 4, point.beyondLimits true, state.count 1
 */
export function qMeanNext(
  state: QMeanState,
  value: number | null,
  settings: QMeanSettings,
): { readonly state: QMeanState; readonly point: QPoint } {
  requireKnown(settings, 'settings');
  requireQCounts({ index: state.index, count: state.count });
  requireQReading(state.mean, 'state.mean');
  requireBetween(state.squares, 0, 1e300, 'state.squares');
  if (value !== null) requireQReading(value, 'value');
  return step(state, value, settings);
}

/**
 * Q chart for the mean of a long series of one part model in columns, nothing allocated a value.
 *
 * @param values    in time order, none missing.
 * @param settings  mean and standardDeviation where they are known; multiple.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         Q (0 where it does not exist yet), and which are beyond ± multiple.
 * @throws          StatisticsError as qMeanChart, `sizes-differ`.
 *
 * Source: as qMeanChart.
 *
 * @example
 * qMeanColumns(Float64Array.of(10.5, 12), { mean: 10, standardDeviation: 0.5 });
 * // values.0 1, values.1 4, beyondLimits.0 0, beyondLimits.1 1
 */
export function qMeanColumns(values: Float64Array, settings: QMeanSettings, columns?: QColumns): QColumns {
  requireKnown(settings, 'settings');
  const filled = qColumns(values.length, columns, 'values');
  requireQReadings(values, 'values');
  const { multiple = 3, mean: given, standardDeviation } = settings;
  const { values: plotted, beyondLimits } = filled;
  let mean = 0;
  let squares = 0;
  for (let index = 0; index < values.length; index++) {
    const value = values[index]!;
    const q = qOfValue(index, mean, squares, value, given, standardDeviation) ?? 0;
    const distance = value - mean;
    mean += distance / (index + 1);
    squares += given === undefined ? distance * (value - mean) : (value - given) ** 2;
    plotted[index] = q;
    beyondLimits[index] = q > multiple ? 1 : q < -multiple ? 2 : 0;
  }
  return filled;
}

function step(state: QMeanState, value: number | null, settings: QMeanSettings) {
  const { index, count, mean, squares } = state;
  const { multiple = 3 } = settings;
  if (value === null)
    return { state: { ...state, index: index + 1 }, point: qPoint(index, null, 0, multiple) };
  const distance = value - mean;
  const newMean = mean + distance / (count + 1);
  const added = settings.mean === undefined ? distance * (value - newMean) : (value - settings.mean) ** 2;
  const q = qOfValue(count, mean, squares, value, settings.mean, settings.standardDeviation);
  return {
    state: { index: index + 1, count: count + 1, mean: newMean, squares: squares + added },
    point: qPoint(index, q, 1, multiple),
  };
}

/** Q of a value after `count` others; null where it does not exist yet. */
function qOfValue(
  count: number,
  mean: number,
  squares: number,
  value: number,
  givenMean: number | undefined,
  standardDeviation: number | undefined,
): number | null {
  if (givenMean === undefined && count === 0) return null;
  const distance =
    givenMean === undefined ? Math.sqrt(count / (count + 1)) * (value - mean) : value - givenMean;
  if (standardDeviation !== undefined) return distance / standardDeviation;
  const degreesOfFreedom = givenMean === undefined ? count - 1 : count;
  if (degreesOfFreedom < 1 || squares < smallestSquares) return null;
  return qOfT(distance / Math.sqrt(squares / degreesOfFreedom), degreesOfFreedom);
}

/** z with the same probability as t. */
export function qOfT(t: number, degreesOfFreedom: number): number {
  if (t === 0) return 0;
  const distance = Math.abs(t);
  if (degreesOfFreedom >= 1000 && distance <= 12)
    return Math.sign(t) * normalScoreOfT(distance, degreesOfFreedom);
  const tail = studentTLowerTail(-distance, degreesOfFreedom);
  const q = tail <= 0 ? -certainQ : qOfTails(tail, 1);
  return t < 0 ? q : -q;
}

export function requireKnown(settings: QMeanSettings, argument: string): void {
  requireQMultiple(settings.multiple ?? 3, `${argument}.multiple`);
  if (settings.mean !== undefined) requireQReading(settings.mean, `${argument}.mean`);
  if (settings.standardDeviation !== undefined)
    requireQStandardDeviation(settings.standardDeviation, `${argument}.standardDeviation`);
}

/** The given figures alone, for the basis of a chart. */
export function known({ mean, standardDeviation }: QMeanKnown): QMeanKnown {
  return {
    ...(mean === undefined ? {} : { mean }),
    ...(standardDeviation === undefined ? {} : { standardDeviation }),
  };
}
