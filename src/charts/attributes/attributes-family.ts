import { requireBetween } from '../../checks.ts';
import type { ChartStatistic, ControlLimits } from '../control-chart.ts';
import { requireMultiple } from '../small-shifts/time-weighted.ts';
import { type CountDistribution, largestSize, smallestSize } from './count-sample.ts';
import {
  binomialProbabilityLimits,
  largestSizeOrMean,
  poissonProbabilityLimits,
  requireFalseAlarmProbability,
  type TailProbabilities,
} from './probability-limits.ts';

/** What tells p, np, c and u apart. */
export interface AttributesFamily {
  readonly statistic: ChartStatistic;
  readonly distribution: CountDistribution;
  /** Plotted is the count per part or unit; otherwise the count itself. */
  readonly perUnit: boolean;
}

/** How far the limits of an attributes chart lie from the center line. */
export interface AttributesLimitsOptions {
  /** Standard deviations between center line and limit, > 0, at most 1000. Default 3. */
  readonly multiple?: number;
  /**
   * For rare events: the probability of a false alarm that is allowed on each side, 1e-12 … 0.5. Given, the limits
   * are those counts of the binomial or Poisson distribution that keep it, and `multiple` is not used.
   */
  readonly falseAlarmProbability?: number;
}

export interface AttributesLimits extends ControlLimits {
  /** What a false alarm really costs on each side; null where the limits are a multiple of the standard deviation. */
  readonly falseAlarmProbability: TailProbabilities | null;
}

export function requireLimitsOptions(options: AttributesLimitsOptions, argument: string): void {
  requireMultiple(options.multiple ?? 3, `${argument}.multiple`);
  if (options.falseAlarmProbability !== undefined)
    requireFalseAlarmProbability(options.falseAlarmProbability, `${argument}.falseAlarmProbability`);
}

/** Center line of one unit: a proportion, or nonconformities per unit. */
export function requireStandard(family: AttributesFamily, standard: number, argument: string): void {
  const most = family.distribution === 'binomial' ? 1 : largestSize;
  requireBetween(standard, standard === 0 ? 0 : smallestSize, most, argument);
}

/** A size for which exact-probability limits are computed. */
export function requireExactSize(
  family: AttributesFamily,
  standard: number,
  size: number,
  argument: string,
): void {
  // A standard of −0 is 0 and allows every size.
  const most =
    family.distribution === 'binomial' ? largestSizeOrMean : largestSizeOrMean / Math.abs(standard);
  if (size > most) requireBetween(size, 0, most, argument);
}

/** Variance of the count in one part or unit. */
export function unitVariance(distribution: CountDistribution, standard: number): number {
  return distribution === 'binomial' ? standard * (1 - standard) : standard;
}

/** Standard deviation of the plotted value, from the variance of one unit. */
export function plottedStandardDeviation(variance: number, size: number, perUnit: boolean): number {
  return Math.sqrt(perUnit ? variance / size : variance * size);
}

/** The largest value that can be plotted. */
export function largestValue({ distribution, perUnit }: AttributesFamily, size: number): number {
  return distribution === 'poisson' ? Infinity : perUnit ? 1 : size;
}

/**
 * Limits for one sample of the given size. `widening` is Laney's standard deviation of the standardised values, 1 for
 * plain binomial or Poisson counts.
 */
export function attributesLimits(
  family: AttributesFamily,
  standard: number,
  size: number,
  options: AttributesLimitsOptions,
  widening = 1,
): AttributesLimits {
  const { multiple = 3, falseAlarmProbability } = options;
  const { distribution, perUnit } = family;
  const centerLine = perUnit ? standard : size * standard;
  const standardDeviation =
    widening * plottedStandardDeviation(unitVariance(distribution, standard), size, perUnit);
  if (falseAlarmProbability !== undefined) {
    const exact =
      distribution === 'binomial'
        ? binomialProbabilityLimits({ size, proportion: standard, falseAlarmProbability })
        : poissonProbabilityLimits({ mean: size * standard, falseAlarmProbability });
    const plotted = (count: number | null) => (count === null ? null : perUnit ? count / size : count);
    return {
      centerLine,
      lowerControlLimit: plotted(exact.lowerControlLimit),
      upperControlLimit: plotted(exact.upperControlLimit),
      standardDeviation,
      falseAlarmProbability: exact.falseAlarmProbability,
    };
  }
  const lower = centerLine - multiple * standardDeviation;
  const upper = centerLine + multiple * standardDeviation;
  return {
    centerLine,
    lowerControlLimit: lower <= 0 ? null : lower,
    upperControlLimit: upper >= largestValue(family, size) ? null : upper,
    standardDeviation,
    falseAlarmProbability: null,
  };
}
