import type { Outcome } from '../../errors.ts';
import { fillTSquared } from './fill-t-squared.ts';
import { type MewmaSettings, prepareMewma, varianceShare } from './mewma-basis.ts';
import { columnsFor, refuseRow, type TSquaredColumns } from './t-squared-columns.ts';
import { largestTSquared } from './whitening.ts';

/**
 * Multivariate EWMA chart of a long series at once: the values of mewmaChart, without an object a point.
 *
 * @param observations  m · p finite numbers, row after row.
 * @param settings      as mewmaChart.
 * @param columns       columns of m entries to write over; default new ones.
 * @returns             the columns; Unavailable `singular-covariance`.
 * @throws              as mewmaChart.
 *
 * Source: as mewmaChart.
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: null, subgroupSize: 1, method: 'given' };
 * mewmaColumns(Float64Array.of(10, 5, 11, 4), { standard, upperControlLimit: 8.64 });
 * // available, values.0 0, values.1 11.04…, beyondLimits.1 1
 */
export function mewmaColumns(
  observations: Float64Array,
  settings: MewmaSettings,
  columns?: TSquaredColumns,
): Outcome<TSquaredColumns> {
  const made = prepareMewma(settings);
  if (!made.available) return made;
  const { mean } = made.basis.standard;
  const p = mean.length;
  const center = Float64Array.from(mean);
  const { inverseFactor } = made.whitening;
  const { values, beyondLimits } = columnsFor(observations, p, columns);
  const count = values.length;
  const { smoothing, limits, size } = made.basis;
  const kept = 1 - smoothing;
  const { upperControlLimit } = settings;
  const settledPrecision = size / varianceShare(smoothing, Infinity);
  // The share of the start dies out; from there on the covariance is the settled one to the last digit.
  const settles = limits === 'asymptotic' ? 0 : settledAfter(smoothing);
  // The averages of a block of rows first, one after the other; then their T², several at a time.
  // Its first row is the average before the block.
  const averages = new Float64Array((Math.min(count, blockRows) + 1) * p);
  const block = averages.subarray(p);
  for (let from = 0; from < count; from += blockRows) {
    const rows = Math.min(blockRows, count - from);
    for (let row = 0, place = 0, start = from * p; row < rows; row++)
      for (let j = 0; j < p; j++, place++, start++)
        averages[place + p] = smoothing * (observations[start]! - center[j]!) + kept * averages[place]!;
    fillTSquared(block, made.whitening.mean, inverseFactor, values, from, rows);
    averages.copyWithin(0, rows * p, (rows + 1) * p);
    for (let row = from; row < from + rows; row++) {
      const precision = row < settles ? size / varianceShare(smoothing, row + 1) : settledPrecision;
      const value = precision * values[row]!;
      if (!(value <= largestTSquared)) refuseRow(observations, row * p, p);
      values[row] = value;
      beyondLimits[row] = value > upperControlLimit ? 1 : 0;
    }
  }
  return { available: true, values, beyondLimits };
}

/** Few enough that a block of averages stays in the nearest memory. */
const blockRows = 256;

/** Points after which (1 − λ)²ⁱ is below half a unit in the last digit of 1. */
function settledAfter(smoothing: number): number {
  return smoothing === 1 ? 1 : Math.ceil(-38 / (2 * Math.log1p(-smoothing)));
}
