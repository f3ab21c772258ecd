import { quantileSorted } from 'simple-statistics';
import { StatisticsError } from '../errors.ts';

/** One bar of a histogram; `from` and `to` are its edges, in the unit of the values. */
interface HistogramBin {
  readonly from: number;
  readonly to: number;
  readonly count: number;
}

export interface Histogram {
  readonly bins: readonly HistogramBin[];
  readonly binWidth: number;
  /** How the width was found; 'resolution' where the middle half of the values is a single value. */
  readonly rule: 'Freedman–Diaconis' | 'resolution';
  /** Values too far out for the picture, ascending. They are counted in no bin, and have to be named beside it. */
  readonly farBelow: readonly number[];
  readonly farAbove: readonly number[];
}

/** Values farther from the quartiles than this many interquartile ranges would squeeze all others into one bar. */
const FAR = 5;

/**
 * Counts values into bins of equal width 2·IQR·n^(−1/3), rounded to whole steps of the gauge. The edges lie
 * half-way between two possible readings, so that every bin holds equally many of them and no reading is on
 * an edge.
 *
 * @param values   at least one finite number, in one unit, any order.
 * @param options  `resolution`: smallest step between two possible readings, > 0, in the unit of `values`.
 * @returns        bins without gaps, ascending; the values too far out for the picture beside them.
 * @throws         StatisticsError `empty`, `not-finite` (with index), `out-of-range` (resolution).
 *
 * Source: Freedman, D. and Diaconis, P. (1981), On the histogram as a density estimator: L2 theory,
 * Zeitschrift für Wahrscheinlichkeitstheorie und verwandte Gebiete 57, 453–476. Rounding to the gauge and the
 * limit of five interquartile ranges are our own.
 *
 * @example
 * histogram([1, 2, 2, 3], { resolution: 1 }).bins.map((bin) => bin.count);
 * // [1, 2, 1]
 */
export function histogram(
  values: readonly number[],
  { resolution }: { readonly resolution: number },
): Histogram {
  if (values.length === 0) throw new StatisticsError('empty', 'values', values);
  values.forEach((value, index) => {
    if (!Number.isFinite(value)) throw new StatisticsError('not-finite', `values.${index}`, value);
  });
  if (!(resolution > 0 && Number.isFinite(resolution))) {
    throw new StatisticsError('out-of-range', 'resolution', resolution, 'must be greater than 0');
  }

  const sorted = [...values].sort((a, b) => a - b);
  const lowerQuartile = quantileSorted(sorted, 0.25);
  const upperQuartile = quantileSorted(sorted, 0.75);
  const middle = upperQuartile - lowerQuartile;
  const reach = FAR * (middle > 0 ? middle : resolution);
  const farBelow = sorted.filter((value) => value < lowerQuartile - reach);
  const farAbove = sorted.filter((value) => value > upperQuartile + reach);
  const near = sorted.slice(farBelow.length, sorted.length - farAbove.length);

  const steps = Math.max(1, Math.round((2 * middle * sorted.length ** (-1 / 3)) / resolution));
  const stepOf = (value: number): number => Math.round(value / resolution);
  const firstStep = stepOf(near[0] as number);
  const bins = Math.floor((stepOf(near.at(-1) as number) - firstStep) / steps) + 1;
  const counts = new Array<number>(bins).fill(0);
  for (const value of near) {
    const bin = Math.floor((stepOf(value) - firstStep) / steps);
    counts[bin] = (counts[bin] as number) + 1;
  }
  const edge = (bin: number): number => (firstStep + bin * steps - 0.5) * resolution;
  return {
    bins: counts.map((count, bin) => ({ from: edge(bin), to: edge(bin + 1), count })),
    binWidth: steps * resolution,
    rule: middle > 0 ? 'Freedman–Diaconis' : 'resolution',
    farBelow,
    farAbove,
  };
}
