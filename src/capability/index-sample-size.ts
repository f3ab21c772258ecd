import { requireBetween, requireFraction, requireName } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { chiSquareLowerTail, chiSquareQuantile } from '../numerics/chi-square.ts';
import { noncentralTCumulative } from '../numerics/noncentral-t.ts';
import { normalQuantile } from '../numerics/normal.ts';
import { estimateNeeded, requireIndexConfidence } from './index-interval.ts';

export interface IndexSampleSizeOptions {
  /** What the process really has, above `requiredIndex`. */
  readonly trueIndex: number;
  readonly requiredIndex: number;
  /**
   * 'one-sided': Ppl, Ppu, and Ppk where one side decides; 'tolerance': Pp. With both limits near, Ppk needs more.
   * Default 'one-sided'.
   */
  readonly index?: 'one-sided' | 'tolerance';
  /** Of the lower bound that has to reach the requirement, 0.5 … 0.9999. Default 0.95. */
  readonly confidence?: number;
  /** Chance that a study of this size proves the requirement, below 1. Default 0.9. */
  readonly power?: number;
}

export interface IndexSampleSize {
  /** Values that the study needs. */
  readonly sampleSize: number;
  /** The estimate it then has to show. */
  readonly estimateNeeded: number;
  /** Chance that it shows it; at least the one asked for. */
  readonly power: number;
  readonly index: 'one-sided' | 'tolerance';
  readonly message: string;
}

const mostValues = 100_000;

/**
 * How many values prove an index? The smallest n with which the lower confidence bound of a process that really has
 * `trueIndex` reaches `requiredIndex` with the chance `power`. Exact for normal values of a stable process and the
 * overall standard deviation.
 *
 * One-sided: 3√n·Ĉ follows a noncentral t distribution with noncentrality 3√n·C; two-sided Cp: chi-square.
 *
 * @returns Unavailable `not-reachable` where the true index is not above the required one, or more than 100 000
 *          values would be needed.
 * @throws  StatisticsError `not-finite`, `out-of-range`, `unknown-name`, naming the field.
 *
 * Source: Chou, Owen and Borrego, Journal of Quality Technology 22 (1990) 223-229; Kane, Journal of Quality
 * Technology 18 (1986) 41-52 for Cp.
 *
 * @example
 * indexSampleSize({ trueIndex: 1.67, requiredIndex: 1.33 });
 * // available, sampleSize 95, estimateNeeded 1.5228…, index "one-sided"
 */
export function indexSampleSize(options: IndexSampleSizeOptions): Outcome<IndexSampleSize> {
  const { trueIndex, requiredIndex, index = 'one-sided', confidence = 0.95, power = 0.9 } = options;
  requireBetween(trueIndex, -100, 100, 'options.trueIndex');
  requireBetween(requiredIndex, -100, 100, 'options.requiredIndex');
  requireName(index, ['one-sided', 'tolerance'], 'options.index');
  requireIndexConfidence(confidence, 'options.confidence');
  requireFraction(power, 'options.power');
  if (index === 'tolerance') requireBetween(requiredIndex, 0.01, 100, 'options.requiredIndex');
  if (trueIndex <= requiredIndex)
    return {
      available: false,
      reason: 'not-reachable',
      message: `A process with a true index of ${trueIndex} cannot prove ${requiredIndex}, however many parts are measured. Improve the process first.`,
    };
  const needed = (sampleSize: number) =>
    index === 'tolerance'
      ? requiredIndex * Math.sqrt((sampleSize - 1) / chiSquareQuantile(1 - confidence, sampleSize - 1))
      : estimateNeeded(requiredIndex, { sampleSize, confidence });
  const chance = (sampleSize: number) => {
    const freedom = sampleSize - 1;
    const least = needed(sampleSize);
    const factor = 3 * Math.sqrt(sampleSize);
    return index === 'tolerance'
      ? chiSquareLowerTail(freedom * (trueIndex / least) ** 2, freedom)
      : 1 - noncentralTCumulative(factor * least, freedom, factor * trueIndex);
  };
  // Bissell's variance tells about where to look.
  const deviation = (value: number) => Math.sqrt((index === 'tolerance' ? 0 : 1 / 9) + value ** 2 / 2);
  const distance =
    normalQuantile(confidence) * deviation(requiredIndex) + normalQuantile(power) * deviation(trueIndex);
  const guess = Math.min(2 * mostValues, (Math.max(0, distance) / (trueIndex - requiredIndex)) ** 2);
  let enough = Math.ceil(1.1 * guess) + 3;
  let tooFew = Math.max(1, Math.floor(0.9 * guess) - 1);
  while (enough <= mostValues && chance(enough) < power) {
    tooFew = enough;
    enough *= 2;
  }
  if (enough > mostValues)
    return {
      available: false,
      reason: 'not-reachable',
      message: `It would take more than ${mostValues} values: ${trueIndex} lies too close to ${requiredIndex}. Ask for less power, or widen the difference.`,
    };
  while (tooFew > 1 && chance(tooFew) >= power) {
    enough = tooFew;
    tooFew = Math.floor(tooFew / 2);
  }
  while (enough - tooFew > 1) {
    const middle = Math.floor((tooFew + enough) / 2);
    if (chance(middle) >= power) enough = middle;
    else tooFew = middle;
  }
  const estimate = needed(enough);
  return {
    available: true,
    sampleSize: enough,
    estimateNeeded: estimate,
    power: chance(enough),
    index,
    message: `Measure ${enough} values: with an index of at least ${estimate.toFixed(2)} they prove ${requiredIndex}, which a process that really has ${trueIndex} shows with a chance of ${(100 * chance(enough)).toFixed(0)} %.`,
  };
}
