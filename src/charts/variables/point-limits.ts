import { StatisticsError } from '../../errors.ts';
import { rangeMoments } from '../../samples/range-moments.ts';
import { unbiasingFactor } from '../../samples/unbiasing-factor.ts';
import type { ChartKind, ControlLimits, ProcessStandard } from '../control-chart.ts';

export interface PointLimitsOptions {
  /** Values below or above these cannot occur; null or absent where there is no such bound. */
  readonly lowerNaturalBound?: number | null;
  readonly upperNaturalBound?: number | null;
  /** Standard deviations between center line and limit, > 0. Default 3. */
  readonly multiple?: number;
  /** Values in one moving range, 2 … 100. Default 2. */
  readonly movingRangeSpan?: number;
}

export interface PointLimits {
  readonly location: ControlLimits | null;
  readonly spread: ControlLimits | null;
}

/**
 * Control limits for one point of the location chart and of the spread chart.
 *
 * Location: mean ± k σ/√n (or k times the standard's own standard deviation of means). Range: d2 σ ± k d3 σ; standard
 * deviation: c4 σ ± k σ √(1 − c4²); moving range of w values: d2(w) σ ± k d3(w) σ. A lower limit at or below the natural
 * bound (0 for every spread) does not exist and is null, and likewise above.
 *
 * @param kind      the pair of charts.
 * @param standard  finite mean, standard deviations ≥ 0 (0 gives limits of no width), in one unit.
 * @param size      readings present, whole, ≥ 0; range charts up to 100, individuals at most 1.
 * @returns         limits in that unit; null where a point of this size has no value: both at size 0, the
 *                  spread of a subgroup of 1.
 * @throws          StatisticsError `not-finite`, `out-of-range`, `not-an-integer`, `limits-reversed` (bounds),
 *                  `unknown-name`.
 *
 * Source: ISO 7870-2, control charts for variables, limits from a given standard.
 *
 * @example
 * pointLimits('mean-range', { mean: 10, withinSubgroupStandardDeviation: 0.2, meanStandardDeviation: null }, 4).location;
 * // { centerLine: 10, lowerControlLimit: 9.7, upperControlLimit: 10.3, standardDeviation: 0.1 }
 */
export function pointLimits(
  kind: ChartKind,
  standard: ProcessStandard,
  size: number,
  options: PointLimitsOptions = {},
): PointLimits {
  const { lowerNaturalBound = null, upperNaturalBound = null, multiple = 3, movingRangeSpan = 2 } = options;
  const within = standard.withinSubgroupStandardDeviation;
  const between = standard.meanStandardDeviation;
  if (!Number.isFinite(standard.mean))
    throw new StatisticsError('not-finite', 'standard.mean', standard.mean);
  requireSpread('standard.withinSubgroupStandardDeviation', within);
  if (between !== null) requireSpread('standard.meanStandardDeviation', between);
  if (!(multiple > 0 && multiple < Infinity))
    throw new StatisticsError(
      'out-of-range',
      'options.multiple',
      multiple,
      'It must be a finite number above 0.',
    );
  if (!Number.isInteger(size))
    throw new StatisticsError('not-an-integer', 'size', size, 'A subgroup size is whole.');
  if (size < 0) throw new StatisticsError('out-of-range', 'size', size, 'A subgroup size is never negative.');
  if (lowerNaturalBound !== null && !Number.isFinite(lowerNaturalBound))
    throw new StatisticsError('not-finite', 'options.lowerNaturalBound', lowerNaturalBound);
  if (upperNaturalBound !== null && !Number.isFinite(upperNaturalBound))
    throw new StatisticsError('not-finite', 'options.upperNaturalBound', upperNaturalBound);
  if (lowerNaturalBound !== null && upperNaturalBound !== null && lowerNaturalBound >= upperNaturalBound)
    throw new StatisticsError('limits-reversed', 'options.lowerNaturalBound', lowerNaturalBound);
  if (size === 0) return { location: null, spread: null };

  const location = limits(
    standard.mean,
    between ?? within / Math.sqrt(size),
    multiple,
    lowerNaturalBound,
    upperNaturalBound,
  );
  switch (kind) {
    case 'mean-range': {
      if (size < 2) return { location, spread: null };
      const { d2, d3 } = rangeMoments(size, 'size');
      return { location, spread: limits(d2 * within, d3 * within, multiple, 0, null) };
    }
    case 'mean-standard-deviation': {
      if (size < 2) return { location, spread: null };
      const c4 = unbiasingFactor(size);
      return { location, spread: limits(c4 * within, within * Math.sqrt(1 - c4 * c4), multiple, 0, null) };
    }
    case 'individuals-moving-range': {
      if (size > 1)
        throw new StatisticsError(
          'out-of-range',
          'size',
          size,
          'A chart of individuals has one reading a point.',
        );
      const { d2, d3 } = rangeMoments(movingRangeSpan, 'options.movingRangeSpan');
      return { location, spread: limits(d2 * within, d3 * within, multiple, 0, null) };
    }
    default:
      throw new StatisticsError('unknown-name', 'kind', kind);
  }
}

function requireSpread(argument: string, value: number): void {
  if (!Number.isFinite(value)) throw new StatisticsError('not-finite', argument, value);
  if (value < 0) throw new StatisticsError('out-of-range', argument, value, 'It must not be negative.');
}

function limits(
  centerLine: number,
  standardDeviation: number,
  multiple: number,
  lowerNaturalBound: number | null,
  upperNaturalBound: number | null,
): ControlLimits {
  const lower = centerLine - multiple * standardDeviation;
  const upper = centerLine + multiple * standardDeviation;
  if (!Number.isFinite(lower) || !Number.isFinite(upper))
    throw new StatisticsError(
      'out-of-range',
      'standard',
      standardDeviation,
      'The limits are too large to compute.',
    );
  return {
    centerLine,
    lowerControlLimit: lowerNaturalBound !== null && lower <= lowerNaturalBound ? null : lower,
    upperControlLimit: upperNaturalBound !== null && upper >= upperNaturalBound ? null : upper,
    standardDeviation,
  };
}
