import type { CountSample } from '../attributes/count-sample.ts';
import {
  type CountCusumChart,
  type CountCusumColumns,
  type CountCusumPoint,
  type CountCusumSettings,
  type CountCusumState,
  countCusumBasis,
  countCusumChart,
  countCusumColumns,
  countCusumNext,
  countCusumStart,
} from './count-cusum.ts';

/**
 * CUSUM chart for numbers of nonconforming parts: finds a lasting change of the level long before a Shewhart chart does, also with samples
 * of different sizes.
 *
 * Each sample adds its log-likelihood ratio, x ln(p₁(1 − p₀)/(p₀(1 − p₁))) + n ln((1 − p₁)/(1 − p₀)),
 * and the sum never falls below 0. It is not set back after a signal. One chart watches one direction: upward with
 * outOfControl above inControl, downward with it below; use two for both. A missing sample brings no news: the sum
 * repeats, size 0, no signal.
 *
 * @param samples  in time order: count of nonconforming parts and size (parts inspected); null for a missing sample; may be
 *                 empty.
 * @param options  inControl p₀ and outOfControl p₁ (1e-12 … 1 − 1e-9), decisionInterval, headStart.
 *                 countCusumRunLength finds what a decision interval costs.
 * @returns        the sum at each sample (no unit), what one event and one part add, and where the change most likely
 *                 began (`since`).
 * @throws         StatisticsError `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: Page, Continuous inspection schemes, Biometrika 41, 1954; Gan, An optimal design of CUSUM control charts for binomial
 * counts, Journal of Applied Statistics 20(4), 1993; ISO 7870-4.
 *
 * @example
 * binomialCusumChart([{ count: 2, size: 310 }, { count: 1, size: 310 }, null, { count: 6, size: 155 }], { inControl: 0.003, outOfControl: 0.01, decisionInterval: 4 });
 * // basis.direction "upward", points[0].value 0.237…, points[2].value 0, signals [3]
 */
export function binomialCusumChart(
  samples: readonly (CountSample | null)[],
  options: CountCusumSettings,
): CountCusumChart {
  return countCusumChart(samples, countCusumBasis('binomial', options, 'options'));
}

/**
 * State of a live binomial CUSUM chart before its first sample; also the fresh start after a signal has been dealt with.
 *
 * @param settings  as in binomialCusumChart.
 * @returns         a small plain object for binomialCusumNext, ready to be stored.
 * @throws          StatisticsError as binomialCusumChart.
 *
 * Source: as binomialCusumChart.
 *
 * @example
 * binomialCusumStart({ inControl: 0.003, outOfControl: 0.01, decisionInterval: 4, headStart: 1 });
 * // index 0, sum 1
 */
export function binomialCusumStart(settings: CountCusumSettings): CountCusumState {
  return countCusumStart(countCusumBasis('binomial', settings, 'settings'));
}

/**
 * The next point of a live binomial CUSUM chart; the cost does not grow with history.
 *
 * @param state     what binomialCusumStart or the last binomialCusumNext returned.
 * @param sample    as in binomialCusumChart; null for a missing one.
 * @param settings  as in binomialCusumChart.
 * @returns         the point, and the state for the next sample.
 * @throws          StatisticsError as binomialCusumChart; `out-of-range` for a state that no chart can be in.
 *
 * Source: as binomialCusumChart.
 *
 * @example
 * const settings = { inControl: 0.003, outOfControl: 0.01, decisionInterval: 4 };
 * binomialCusumNext(binomialCusumStart(settings), { count: 6, size: 155 }, settings);
 * // point.value 6.1…, point.beyondLimits true, state.index 1
 */
export function binomialCusumNext(
  state: CountCusumState,
  sample: CountSample | null,
  settings: CountCusumSettings,
): { readonly state: CountCusumState; readonly point: CountCusumPoint } {
  return countCusumNext(state, sample, countCusumBasis('binomial', settings, 'settings'));
}

/**
 * Binomial CUSUM chart of a long series in columns, nothing allocated a point. The limit is the decision interval at every
 * point.
 *
 * @param counts    as in binomialCusumChart, none missing.
 * @param sizes     as many.
 * @param settings  as in binomialCusumChart.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         the sum and whether it is beyond the decision interval, one entry a sample.
 * @throws          StatisticsError as binomialCusumChart, `sizes-differ`.
 *
 * Source: as binomialCusumChart.
 *
 * @example
 * binomialCusumColumns(Float64Array.of(2, 6), Float64Array.of(310, 155), { inControl: 0.003, outOfControl: 0.01, decisionInterval: 4 });
 * // values.0 0.237…, values.1 6.4…, beyondLimits.1 1
 */
export function binomialCusumColumns(
  counts: Float64Array,
  sizes: Float64Array,
  settings: CountCusumSettings,
  columns?: CountCusumColumns,
): CountCusumColumns {
  return countCusumColumns(counts, sizes, countCusumBasis('binomial', settings, 'settings'), columns);
}
