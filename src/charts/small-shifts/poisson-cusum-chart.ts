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
 * CUSUM chart for numbers of nonconformities: finds a lasting change of the level long before a Shewhart chart does, also with samples
 * of different sizes.
 *
 * Each sample adds its log-likelihood ratio, x ln(u₁/u₀) − a(u₁ − u₀),
 * and the sum never falls below 0. It is not set back after a signal. One chart watches one direction: upward with
 * outOfControl above inControl, downward with it below; use two for both. A missing sample brings no news: the sum
 * repeats, size 0, no signal.
 *
 * @param samples  in time order: count of nonconformities and size (units, any number from 1e-100 to 1e100); null for a missing sample; may be
 *                 empty.
 * @param options  inControl u₀ and outOfControl u₁, nonconformities per unit (1e-12 … 1e12), decisionInterval, headStart.
 *                 countCusumRunLength finds what a decision interval costs.
 * @returns        the sum at each sample (no unit), what one event and one unit add, and where the change most likely
 *                 began (`since`).
 * @throws         StatisticsError `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: Page, Continuous inspection schemes, Biometrika 41, 1954; Lucas, Counted data CUSUM's, Technometrics 27(2), 1985;
 * ISO 7870-4.
 *
 * @example
 * poissonCusumChart([{ count: 3, size: 1 }, { count: 2, size: 1 }, null, { count: 9, size: 1 }], { inControl: 2, outOfControl: 4, decisionInterval: 4 });
 * // basis.referenceValue 2.885…, points[0].value 0.0794…, points[1].value 0, points[2].value 0, signals [3]
 */
export function poissonCusumChart(
  samples: readonly (CountSample | null)[],
  options: CountCusumSettings,
): CountCusumChart {
  return countCusumChart(samples, countCusumBasis('poisson', options, 'options'));
}

/**
 * State of a live Poisson CUSUM chart before its first sample; also the fresh start after a signal has been dealt with.
 *
 * @param settings  as in poissonCusumChart.
 * @returns         a small plain object for poissonCusumNext, ready to be stored.
 * @throws          StatisticsError as poissonCusumChart.
 *
 * Source: as poissonCusumChart.
 *
 * @example
 * poissonCusumStart({ inControl: 2, outOfControl: 4, decisionInterval: 4, headStart: 1 });
 * // index 0, sum 1
 */
export function poissonCusumStart(settings: CountCusumSettings): CountCusumState {
  return countCusumStart(countCusumBasis('poisson', settings, 'settings'));
}

/**
 * The next point of a live Poisson CUSUM chart; the cost does not grow with history.
 *
 * @param state     what poissonCusumStart or the last poissonCusumNext returned.
 * @param sample    as in poissonCusumChart; null for a missing one.
 * @param settings  as in poissonCusumChart.
 * @returns         the point, and the state for the next sample.
 * @throws          StatisticsError as poissonCusumChart; `out-of-range` for a state that no chart can be in.
 *
 * Source: as poissonCusumChart.
 *
 * @example
 * const settings = { inControl: 2, outOfControl: 4, decisionInterval: 4 };
 * poissonCusumNext(poissonCusumStart(settings), { count: 9, size: 1 }, settings);
 * // point.value 4.238…, point.beyondLimits true, state.index 1
 */
export function poissonCusumNext(
  state: CountCusumState,
  sample: CountSample | null,
  settings: CountCusumSettings,
): { readonly state: CountCusumState; readonly point: CountCusumPoint } {
  return countCusumNext(state, sample, countCusumBasis('poisson', settings, 'settings'));
}

/**
 * Poisson CUSUM chart of a long series in columns, nothing allocated a point. The limit is the decision interval at every
 * point.
 *
 * @param counts    as in poissonCusumChart, none missing.
 * @param sizes     as many.
 * @param settings  as in poissonCusumChart.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         the sum and whether it is beyond the decision interval, one entry a sample.
 * @throws          StatisticsError as poissonCusumChart, `sizes-differ`.
 *
 * Source: as poissonCusumChart.
 *
 * @example
 * poissonCusumColumns(Float64Array.of(3, 9), Float64Array.of(1, 1), { inControl: 2, outOfControl: 4, decisionInterval: 4 });
 * // values.0 0.0794…, values.1 4.317…, beyondLimits.1 1
 */
export function poissonCusumColumns(
  counts: Float64Array,
  sizes: Float64Array,
  settings: CountCusumSettings,
  columns?: CountCusumColumns,
): CountCusumColumns {
  return countCusumColumns(counts, sizes, countCusumBasis('poisson', settings, 'settings'), columns);
}
