import { requireBetween } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { normalUpperTail } from '../numerics/normal.ts';
import { processOf, type RunLength, type RunLengthOptions } from './run-length.ts';
import { runLengthOf } from './run-length-of-walk.ts';

export interface ShewhartRunLength extends RunLength {
  /** Chance that one sample signals. */
  readonly signalProbability: number;
}

/**
 * Run length of a Shewhart chart with limits alone: each sample signals with the same probability, so the run length is
 * geometric.
 *
 * @param settings  multiple: standard deviations between center line and limit, 0.1 … 10, default 3.
 * @param options   shift, ratio of standard deviations, probabilities; the start makes no difference.
 * @returns         samples, dimensionless, exact. Unavailable `not-reachable` where the chart practically never signals.
 * @throws          StatisticsError `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, section 6.2 (operating characteristic, average run
 * length).
 *
 * @example
 * shewhartRunLength({ multiple: 3 }, { shift: 0 });
 * // available, averageRunLength 370.398…, signalProbability 0.002699…, median 257
 */
export function shewhartRunLength(
  settings: { readonly multiple?: number } = {},
  options: RunLengthOptions = {},
): Outcome<ShewhartRunLength> {
  const { multiple = 3 } = settings;
  requireBetween(multiple, 0.1, 10, 'settings.multiple');
  const { shift, standardDeviationRatio, probabilities } = processOf(options, 'options');
  const signalProbability =
    normalUpperTail((multiple - shift) / standardDeviationRatio) +
    normalUpperTail((multiple + shift) / standardDeviationRatio);
  const result = runLengthOf({ values: [], settled: signalProbability }, probabilities, 'closed form');
  if (!result.available) return result;
  const stays =
    normalUpperTail(-(multiple - shift) / standardDeviationRatio) -
    normalUpperTail((multiple + shift) / standardDeviationRatio);
  return {
    ...result,
    standardDeviation: Math.sqrt(Math.max(0, stays)) / signalProbability,
    signalProbability,
  };
}
