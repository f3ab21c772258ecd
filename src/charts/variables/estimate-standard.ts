import type { Outcome, Unavailable } from '../../errors.ts';
import { StatisticsError } from '../../errors.ts';
import { movingRanges } from '../../samples/moving-ranges.ts';
import { rangeMoments } from '../../samples/range-moments.ts';
import type { SubgroupStatistics } from '../../samples/subgroup.ts';
import { unbiasingFactor } from '../../samples/unbiasing-factor.ts';
import type { ProcessStandard, StandardDeviationMethod } from '../control-chart.ts';

export interface EstimateStandardOptions {
  readonly method: Exclude<StandardDeviationMethod, 'given'>;
  /**
   * Where the limits for means come from. 'moving-range-of-means' is for streams whose level moves between
   * subgroups with nothing wrong (from coil to coil). Default 'within-subgroup'.
   */
  readonly meanLimitsFrom?: 'within-subgroup' | 'moving-range-of-means';
  /** Values in one moving range, 2 … 100, for method 'moving-range'. Default 2. */
  readonly movingRangeSpan?: number;
}

export interface EstimatedStandard {
  readonly standard: ProcessStandard;
  /** Subgroups with at least one reading, and the readings in them. */
  readonly subgroupsUsed: number;
  readonly readingsUsed: number;
}

/**
 * Mean and within-subgroup standard deviation of a process, from a baseline of subgroups.
 *
 * The mean is the sum of all readings over their number. The standard deviation, over subgroups with n ≥ 2:
 * - 'range': average of Rᵢ/d2(nᵢ);
 * - 'standard-deviation': average of sᵢ/c4(nᵢ);
 * - 'range-minimum-variance': the same averages weighted by d2²/d3², the inverse of their variance;
 * - 'standard-deviation-minimum-variance': weighted by c4²/(1 − c4²);
 * - 'pooled': √(Σ(nᵢ − 1)sᵢ² / Σ(nᵢ − 1)), not corrected for bias;
 * - 'pooled-unbiased': that over c4(1 + Σ(nᵢ − 1));
 * - 'moving-range': for individuals (size 1 or missing), average moving range over d2(span). A moving range needs
 *   `movingRangeSpan` entries in a row, none missing.
 * With meanLimitsFrom 'moving-range-of-means' the standard also carries the average moving range of neighbouring
 * subgroup means over d2(2).
 *
 * @param statistics  subgroups in time order, as subgroupStatistics returns them, all in one unit.
 * @returns           the standard in that unit with the numbers behind it; Unavailable `too-few-values` where no
 *                    subgroup has two readings (or no two neighbours exist), `no-variation` where every subgroup
 *                    (or moving range) is without spread: limits of no width would call everything a signal.
 * @throws            StatisticsError `empty`, `unknown-name` (options.method), `out-of-range`, `not-finite`.
 *
 * Source: ISO 7870-2; Montgomery, Introduction to Statistical Quality Control, eq. 6.31 for unequal n; minimum
 * variance weights after Burr, Journal of Quality Technology 1(3), 1969.
 *
 * @example
 * const baseline = [[10.1, 10.3], [10.2, 10.0]].map(subgroupStatistics);
 * estimateStandard(baseline, { method: 'range' });
 * // available, standard.mean 10.15, standard.withinSubgroupStandardDeviation 0.177…
 */
export function estimateStandard(
  statistics: readonly SubgroupStatistics[],
  options: EstimateStandardOptions,
): Outcome<EstimatedStandard> {
  if (!methods.includes(options.method))
    throw new StatisticsError('unknown-name', 'options.method', options.method);
  if (statistics.length === 0)
    throw new StatisticsError('empty', 'statistics', statistics, 'A baseline needs at least one subgroup.');
  const { readings, subgroups, mean } = grandMean(statistics);
  if (mean === null) return tooFew('No subgroup has a reading.');

  const within =
    options.method === 'moving-range'
      ? fromMovingRanges(statistics, options.movingRangeSpan ?? 2)
      : fromSubgroups(statistics, options.method);
  if (within === null)
    return options.method === 'moving-range'
      ? tooFew('There are too few neighbouring values for a moving range. Measure more.')
      : tooFew('No subgroup has two readings. Take larger subgroups, or chart individuals.');
  if (within === 0) return noVariation;

  let meanStandardDeviation: number | null = null;
  if (options.meanLimitsFrom === 'moving-range-of-means') {
    meanStandardDeviation = fromMovingRangesOfMeans(statistics, 2);
    if (meanStandardDeviation === null)
      return tooFew('There are no two neighbouring subgroups to take a moving range of means from.');
    if (meanStandardDeviation === 0) return noVariation;
  }
  return {
    available: true,
    standard: { mean, withinSubgroupStandardDeviation: within, meanStandardDeviation },
    subgroupsUsed: subgroups,
    readingsUsed: readings,
  };
}

const methods: readonly EstimateStandardOptions['method'][] = [
  'range',
  'standard-deviation',
  'range-minimum-variance',
  'standard-deviation-minimum-variance',
  'pooled',
  'pooled-unbiased',
  'moving-range',
];

const noVariation: Unavailable = {
  available: false,
  reason: 'no-variation',
  message: 'The readings show no variation to draw limits from. Check that the gauge resolves it.',
};

function tooFew(message: string): Unavailable {
  return { available: false, reason: 'too-few-values', message };
}

/** Sum of all readings over their number, as distances from the first mean so that no digits are lost. */
function grandMean(statistics: readonly SubgroupStatistics[]) {
  let readings = 0;
  let subgroups = 0;
  let origin = 0;
  let distances = 0;
  for (let index = 0; index < statistics.length; index++) {
    const { size, mean } = statistics[index]!;
    if (mean === null) continue;
    if (!Number.isFinite(mean)) throw new StatisticsError('not-finite', `statistics.${index}.mean`, mean);
    if (readings === 0) origin = mean;
    readings += size;
    subgroups++;
    distances += size * (mean - origin);
  }
  return { readings, subgroups, mean: readings === 0 ? null : finite(origin + distances / readings) };
}

/** Averages of neighbouring large numbers can overflow although each number is finite. */
function finite(value: number): number {
  if (Number.isFinite(value)) return value;
  throw new StatisticsError('out-of-range', 'statistics', value, 'The values are too large to average.');
}

type SubgroupMethod = Exclude<StandardDeviationMethod, 'given' | 'moving-range'>;

function fromSubgroups(statistics: readonly SubgroupStatistics[], method: SubgroupMethod): number | null {
  let sum = 0;
  let weights = 0;
  for (let index = 0; index < statistics.length; index++) {
    const { size, range, standardDeviation } = statistics[index]!;
    if (range === null || standardDeviation === null) continue;
    if (!(range >= 0 && standardDeviation >= 0))
      throw new StatisticsError(
        'out-of-range',
        `statistics.${index}`,
        statistics[index],
        'A spread is never negative.',
      );
    switch (method) {
      case 'range':
        sum += range / rangeMoments(size, `statistics.${index}.size`).d2;
        weights += 1;
        break;
      case 'standard-deviation':
        sum += standardDeviation / unbiasingFactor(size, `statistics.${index}.size`);
        weights += 1;
        break;
      case 'range-minimum-variance': {
        const { d2, d3 } = rangeMoments(size, `statistics.${index}.size`);
        const weight = (d2 / d3) ** 2;
        sum += (weight * range) / d2;
        weights += weight;
        break;
      }
      case 'standard-deviation-minimum-variance': {
        const c4 = unbiasingFactor(size, `statistics.${index}.size`);
        const weight = c4 ** 2 / (1 - c4 ** 2);
        sum += (weight * standardDeviation) / c4;
        weights += weight;
        break;
      }
      case 'pooled':
      case 'pooled-unbiased':
        sum += (size - 1) * standardDeviation ** 2;
        weights += size - 1;
        break;
    }
  }
  if (weights === 0) return null;
  if (method === 'pooled') return finite(Math.sqrt(sum / weights));
  if (method === 'pooled-unbiased') return finite(Math.sqrt(sum / weights) / unbiasingFactor(1 + weights));
  return finite(sum / weights);
}

function fromMovingRanges(statistics: readonly SubgroupStatistics[], span: number): number | null {
  const tooLarge = statistics.findIndex(({ size }) => size > 1);
  if (tooLarge >= 0)
    throw new StatisticsError(
      'out-of-range',
      `statistics.${tooLarge}.size`,
      statistics[tooLarge]?.size,
      'Method moving-range is for individuals: one reading each.',
    );
  rangeMoments(span, 'options.movingRangeSpan');
  return fromMovingRangesOfMeans(statistics, span);
}

function fromMovingRangesOfMeans(statistics: readonly SubgroupStatistics[], span: number): number | null {
  let sum = 0;
  let count = 0;
  for (const range of movingRanges(
    statistics.map(({ mean }) => mean),
    span,
  )) {
    if (range === null) continue;
    sum += range;
    count++;
  }
  return count === 0 ? null : finite(sum / count / rangeMoments(span).d2);
}
