import { requireBetween, requireSameLength } from '../../checks.ts';
import { binomialLowerTail, binomialUpperTail } from '../../numerics/binomial.ts';
import { poissonLowerTail, poissonUpperTail } from '../../numerics/poisson.ts';
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

export interface QPoissonKnown {
  /** Nonconformities per unit, 1e-100 … 1e100; absent: learnt from the samples themselves. */
  readonly standard?: number;
}

export interface QPoissonSettings extends QPoissonKnown, QOptions {}

/** All that the next point needs of history. */
export interface QPoissonState {
  /** Place of the next sample. */
  readonly index: number;
  /** Samples so far, what was counted in them, and the units in them. */
  readonly samples: number;
  readonly count: number;
  readonly size: number;
}

/** Larger totals would no longer be exact, and larger samples take noticeable time. */
const largestTotal = 1e12;
const largestSample = 1e8;
const smallestSample = 1e-6;

/**
 * Q chart for numbers of nonconformities: charting starts with the second sample of a new part, without a trial run.
 *
 * Standard given: Q = Φ⁻¹ P(x; u a), P the Poisson distribution. Not given, from the second sample on: Q = Φ⁻¹ B(x; t, a/A), B the
 * binomial distribution of the number in this sample, given that t nonconformities were found in all A units so far.
 *
 * The Q values are only roughly standard normal while few events are counted. Where a count is the largest that is possible
 * (the first event after samples without any is one), its probability is 1 and Q is infinite: 40 stands for it and signals.
 *
 * @param samples  in time order: count of nonconformities and size (units, 1e-6 … 1e8); null for a missing sample, which is
 *                 passed over. Counts and sizes in all up to 1e12.
 * @param options  standard: nonconformities per unit (1e-100 … 1e100), where it is known; multiple (default 3); parts.
 * @returns        Q at each sample; null for the first of a model without a standard, and as long as nothing has been
 *                 counted.
 * @throws         StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`, `sizes-differ` (options.parts).
 *
 * Source: Quesenberry, SPC Q charts for a Poisson parameter λ: short or long runs, Journal of Quality Technology 23(4), 1991.
 *
 * @example
 * qPoissonChart([{ count: 4, size: 2 }, { count: 6, size: 2 }, { count: 1, size: 1 }], {});
 * // points[0].value null, points[1].value 0.94…, points[2].value -0.461…, signals []
 */
export function qPoissonChart(
  samples: readonly (CountSample | null)[],
  options: QPoissonKnown & QChartOptions = {},
): QChart<QPoissonKnown> {
  requireSettings(options, 'options');
  const { standard } = options;
  return qChart(
    samples.length,
    options.parts,
    'samples',
    qPoissonStart(),
    (state, index) => {
      const sample = samples[index]!;
      if (sample !== null) requireSample(state, sample, standard, `samples.${index}`);
      return step(state, sample, options);
    },
    standard === undefined ? {} : { standard },
  );
}

/**
 * State of a live Q chart for numbers of nonconformities before the first sample; keep one for each part model.
 *
 * @returns  a small plain object for qPoissonNext, ready to be stored.
 *
 * Source: as qPoissonChart.
 *
 * @example
 * qPoissonStart();
 * // index 0, samples 0, count 0
 */
export function qPoissonStart(): QPoissonState {
  return { index: 0, samples: 0, count: 0, size: 0 };
}

/**
 * The next point of a live Q chart for numbers of nonconformities; the cost does not grow with history.
 *
 * @param state     what qPoissonStart or the last qPoissonNext returned.
 * @param sample    as in qPoissonChart; null for a missing one.
 * @param settings  standard where it is known; multiple.
 * @returns         the point, and the state for the next sample.
 * @throws          StatisticsError as qPoissonChart; `out-of-range` for a state that no chart can be in.
 *
 * Source: as qPoissonChart.
 *
 * @example
 * qPoissonNext(qPoissonStart(), { count: 9, size: 2 }, { standard: 1 });
 * // point.value 3.9…, point.beyondLimits true, state.index 1
 */
export function qPoissonNext(
  state: QPoissonState,
  sample: CountSample | null,
  settings: QPoissonSettings,
): { readonly state: QPoissonState; readonly point: QPoint } {
  requireSettings(settings, 'settings');
  requireQCounts({ index: state.index, samples: state.samples, count: state.count });
  requireBetween(state.size, 0, largestTotal, 'state.size');
  requireBetween(state.count, 0, largestTotal, 'state.count');
  if (sample !== null) requireSample(state, sample, settings.standard, 'sample');
  return step(state, sample, settings);
}

/**
 * Q chart for numbers of nonconformities of one part model, a long series in columns, nothing allocated a sample.
 *
 * @param counts    as in qPoissonChart, none missing.
 * @param sizes     as many.
 * @param settings  standard where it is known; multiple.
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         Q (0 where it does not exist), and which are beyond ± multiple.
 * @throws          StatisticsError as qPoissonChart, `sizes-differ`.
 *
 * Source: as qPoissonChart.
 *
 * @example
 * qPoissonColumns(Float64Array.of(2, 9), Float64Array.of(2, 2), { standard: 1 });
 * // values.0 0.458…, values.1 3.9…, beyondLimits.1 1
 */
export function qPoissonColumns(
  counts: Float64Array,
  sizes: Float64Array,
  settings: QPoissonSettings,
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
        count <= largestSample &&
        size >= smallestSample &&
        size <= largestSample &&
        Math.floor(count) === count &&
        totalCount < largestTotal &&
        totalSize < largestTotal &&
        (standard === undefined || standard * size <= largestSample)
      )
    )
      requireLarge(totalCount, totalSize, count, size, standard, `counts.${index}`, `sizes.${index}`);
    const q = qOfCount(totalCount, totalSize, index, count, size, standard) ?? 0;
    totalCount += count;
    totalSize += size;
    values[index] = q;
    beyondLimits[index] = q > multiple ? 1 : q < -multiple ? 2 : 0;
  }
  return filled;
}

function step(
  state: QPoissonState,
  sample: CountSample | null,
  { standard, multiple = 3 }: QPoissonSettings,
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
    return qOfTails(poissonLowerTail(count, standard * size), poissonUpperTail(count + 1, standard * size));
  const marked = totalCount + count;
  if (samples === 0 || marked === 0) return null;
  const share = size / (totalSize + size);
  return qOfTails(
    binomialLowerTail(count, marked, share),
    count >= marked ? 0 : binomialUpperTail(count + 1, marked, share),
  );
}

function requireSettings({ standard, multiple }: QPoissonSettings, argument: string): void {
  requireQMultiple(multiple ?? 3, `${argument}.multiple`);
  if (standard !== undefined) requireBetween(standard, 1e-100, 1e100, `${argument}.standard`);
}

function requireSample(
  state: QPoissonState,
  { count, size }: CountSample,
  standard: number | undefined,
  argument: string,
): void {
  requireCountSample({ count, size }, 'poisson', argument);
  requireLarge(state.count, state.size, count, size, standard, `${argument}.count`, `${argument}.size`);
}

/** A sample, and totals with it, of which the tails are computed. */
function requireLarge(
  totalCount: number,
  totalSize: number,
  count: number,
  size: number,
  standard: number | undefined,
  countArgument: string,
  sizeArgument: string,
): void {
  requireCountAndSize(count, size, 'poisson', countArgument, sizeArgument);
  requireBetween(count, 0, Math.min(largestSample, largestTotal - totalCount), countArgument);
  const most = standard === undefined ? largestSample : Math.min(largestSample, largestSample / standard);
  requireBetween(size, smallestSample, Math.min(most, largestTotal - totalSize), sizeArgument);
}
