import { requireBetween, requireFraction, requireSameLength, requireWhole } from '../../checks.ts';
import { binomialLowerTail, binomialUpperTail } from '../../numerics/binomial.ts';
import { hypergeometricLowerTail, hypergeometricUpperTail } from '../../numerics/hypergeometric.ts';
import { type CountSample, requireCountAndSize, requireCountSample } from '../attributes/count-sample.ts';
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
} from './q-statistic.ts';

export interface QBinomialKnown {
  /** Proportion nonconforming, in (0, 1); absent: learnt from the samples themselves. */
  readonly standard?: number;
}

export interface QBinomialSettings extends QBinomialKnown, QOptions {}

/** All that the next point needs of history. */
export interface QBinomialState {
  /** Place of the next sample. */
  readonly index: number;
  /** Samples so far, what was counted in them, and the parts inspected in them. */
  readonly samples: number;
  readonly count: number;
  readonly size: number;
}

/** Larger totals would no longer be exact, and larger samples take noticeable time. */
const largestTotal = 1e12;
const largestSample = 1e8;

/**
 * Q chart for numbers of nonconforming parts: charting starts with the second sample of a new part, without a trial run.
 *
 * Standard given: Q = Φ⁻¹ B(x; n, p), B the binomial distribution. Not given, from the second sample on: Q = Φ⁻¹ H(x; t, n, N),
 * H the hypergeometric distribution of the number in this sample, given that t of all N parts so far were nonconforming.
 *
 * The Q values are only roughly standard normal while few events are counted. Where a count is the largest that is possible
 * (the first event after samples without any is one), its probability is 1 and Q is infinite: 40 stands for it and signals.
 *
 * @param samples  in time order: count of nonconforming parts and size (parts inspected, at most 1e8); null for a missing sample, which is
 *                 passed over. Counts and sizes in all up to 1e12.
 * @param options  standard: proportion nonconforming, in (0, 1), where it is known; multiple (default 3); parts.
 * @returns        Q at each sample; null for the first of a model without a standard, and as long as nothing (or everything) has been
 *                 counted.
 * @throws         StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`, `sizes-differ` (options.parts).
 *
 * Source: Quesenberry, SPC Q charts for a binomial parameter p: short or long runs, Journal of Quality Technology 23(3), 1991.
 *
 * @example
 * qBinomialChart([{ count: 2, size: 50 }, { count: 1, size: 50 }, { count: 9, size: 50 }], {});
 * // points[0].value null, points[2].value 3.416…, signals [2]
 */
export function qBinomialChart(
  samples: readonly (CountSample | null)[],
  options: QBinomialKnown & QChartOptions = {},
): QChart<QBinomialKnown> {
  requireSettings(options, 'options');
  const { standard } = options;
  return qChart(
    samples.length,
    options.parts,
    'samples',
    qBinomialStart(),
    (state, index) => {
      const sample = samples[index]!;
      if (sample !== null) requireSample(state, sample, `samples.${index}`);
      return step(state, sample, options);
    },
    standard === undefined ? {} : { standard },
  );
}

/**
 * State of a live Q chart for numbers of nonconforming parts before the first sample; keep one for each part model.
 *
 * @returns  a small plain object for qBinomialNext, ready to be stored.
 *
 * Source: as qBinomialChart.
 *
 * @example
 * qBinomialStart();
 * // index 0, samples 0, count 0
 */
export function qBinomialStart(): QBinomialState {
  return { index: 0, samples: 0, count: 0, size: 0 };
}

/**
 * The next point of a live Q chart for numbers of nonconforming parts; the cost does not grow with history.
 *
 * @param state     what qBinomialStart or the last qBinomialNext returned.
 * @param sample    as in qBinomialChart; null for a missing one.
 * @param settings  standard where it is known; multiple.
 * @returns         the point, and the state for the next sample.
 * @throws          StatisticsError as qBinomialChart; `out-of-range` for a state that no chart can be in.
 *
 * Source: as qBinomialChart.
 *
 * @example
 * qBinomialNext(qBinomialStart(), { count: 9, size: 50 }, { standard: 0.05 });
 * // point.value 3.6008…, point.beyondLimits true, state.index 1
 */
export function qBinomialNext(
  state: QBinomialState,
  sample: CountSample | null,
  settings: QBinomialSettings,
): { readonly state: QBinomialState; readonly point: QPoint } {
  requireSettings(settings, 'settings');
  requireQCounts({ index: state.index, samples: state.samples, count: state.count });
  requireBetween(state.size, 0, largestTotal, 'state.size');
  requireBetween(state.count, 0, state.size, 'state.count');
  requireWhole(state.size, 0, largestTotal, 'state.size');
  if (sample !== null) requireSample(state, sample, 'sample');
  return step(state, sample, settings);
}

/**
 * Q chart for numbers of nonconforming parts of one part model, a long series in columns, nothing allocated a sample.
 *
 * @param counts    as in qBinomialChart, none missing.
 * @param sizes     as many.
 * @param settings  standard where it is known; multiple.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         Q (0 where it does not exist), and which are beyond ± multiple.
 * @throws          StatisticsError as qBinomialChart, `sizes-differ`.
 *
 * Source: as qBinomialChart.
 *
 * @example
 * qBinomialColumns(Float64Array.of(2, 9), Float64Array.of(50, 50), { standard: 0.05 });
 * // values.0 0.1017…, values.1 3.6008…, beyondLimits.1 1
 */
export function qBinomialColumns(
  counts: Float64Array,
  sizes: Float64Array,
  settings: QBinomialSettings,
  columns?: QColumns,
): QColumns {
  requireSettings(settings, 'settings');
  requireSameLength(sizes.length, counts.length, 'sizes', 'counts');
  const filled = qColumns(counts.length, columns, 'counts');
  const { values, beyondLimits } = filled;
  const { multiple = 3, standard } = settings;
  let totalCount = 0;
  let totalSize = 0;
  for (let index = 0; index < counts.length; index++) {
    const count = counts[index]!;
    const size = sizes[index]!;
    if (
      !(
        count >= 0 &&
        count <= size &&
        size >= 1 &&
        size <= largestSample &&
        Math.floor(count) === count &&
        Math.floor(size) === size &&
        totalSize < largestTotal
      )
    )
      requireLarge(totalSize, count, size, `counts.${index}`, `sizes.${index}`);
    const q = qOfCount(totalCount, totalSize, index, count, size, standard) ?? 0;
    totalCount += count;
    totalSize += size;
    values[index] = q;
    beyondLimits[index] = q > multiple ? 1 : q < -multiple ? 2 : 0;
  }
  return filled;
}

function step(
  state: QBinomialState,
  sample: CountSample | null,
  { standard, multiple = 3 }: QBinomialSettings,
) {
  const { index, samples, count, size } = state;
  if (sample === null)
    return { state: { ...state, index: index + 1 }, point: qPoint(index, null, 0, multiple) };
  const q = qOfCount(count, size, samples, sample.count, sample.size, standard);
  return {
    state: { index: index + 1, samples: samples + 1, count: count + sample.count, size: size + sample.size },
    point: qPoint(index, q, sample.size, multiple),
  };
}

/** Q of a count after `samples` others; null where it does not exist. */
function qOfCount(
  totalCount: number,
  totalSize: number,
  samples: number,
  count: number,
  size: number,
  standard: number | undefined,
): number | null {
  if (standard !== undefined)
    return qOfTails(
      binomialLowerTail(count, size, standard),
      count >= size ? 0 : binomialUpperTail(count + 1, size, standard),
    );
  const marked = totalCount + count;
  const total = totalSize + size;
  if (samples === 0 || marked === 0 || marked === total) return null;
  return qOfTails(
    hypergeometricLowerTail(count, size, marked, total),
    hypergeometricUpperTail(count + 1, size, marked, total),
  );
}

function requireSettings({ standard, multiple }: QBinomialSettings, argument: string): void {
  requireQMultiple(multiple ?? 3, `${argument}.multiple`);
  if (standard !== undefined) requireFraction(standard, `${argument}.standard`);
}

function requireSample(state: QBinomialState, { count, size }: CountSample, argument: string): void {
  requireCountSample({ count, size }, 'binomial', argument);
  requireLarge(state.size, count, size, `${argument}.count`, `${argument}.size`);
}

/** A sample, and totals with it, of which the tails are computed. */
function requireLarge(
  totalSize: number,
  count: number,
  size: number,
  countArgument: string,
  sizeArgument: string,
): void {
  requireCountAndSize(count, size, 'binomial', countArgument, sizeArgument);
  requireBetween(size, 0, Math.min(largestSample, largestTotal - totalSize), sizeArgument);
}
