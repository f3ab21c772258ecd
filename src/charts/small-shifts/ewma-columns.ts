import { type ChartColumns, chartColumns } from '../chart-columns.ts';
import { type EwmaBasis, type EwmaOptions, ewmaBasis } from './ewma-chart.ts';
import { requireReadings, requireSizes } from './time-weighted.ts';

/**
 * EWMA chart of a long series at once: the numbers of ewmaChart in columns, nothing allocated a point.
 *
 * @param values   single values or subgroup means in time order, in one unit, none missing.
 * @param options  as in ewmaChart.
 * @param columns  columns of the same length to fill again; absent: new ones.
 * @returns        the columns, in the unit of the values.
 * @throws         StatisticsError as ewmaChart; `sizes-differ` where a column has another length.
 *
 * Source: ISO 7870-6; Montgomery, Introduction to Statistical Quality Control, section 9.2.
 *
 * @example
 * ewmaColumns(new Float64Array([52, 47, 53]), { target: 50, withinSubgroupStandardDeviation: 2, smoothing: 0.3 });
 * // values.0 50.6, upperControlLimits.0 51.8, beyondLimits.2 0
 */
export function ewmaColumns(
  values: Float64Array,
  options: EwmaOptions,
  columns?: ChartColumns,
): ChartColumns {
  const basis = ewmaBasis(options, 'options');
  const filled = chartColumns(values.length, columns, 'columns');
  requireReadings(values, 'values');
  const { sizes, size = 1 } = options;
  if (sizes === undefined) fillWithOneSize(values, size, basis, filled);
  else {
    requireSizes(sizes, values, 'options.sizes');
    fillWithSizes(values, sizes, basis, filled);
  }
  return filled;
}

/** The limits settle to the last digit after some dozens of points; from there on they are a constant. */
function fillWithOneSize(values: Float64Array, size: number, basis: EwmaBasis, columns: ChartColumns): void {
  const { target, withinSubgroupStandardDeviation, smoothing, multiple, limits } = basis;
  const { values: averages, lowerControlLimits, upperControlLimits, beyondLimits } = columns;
  const kept = 1 - smoothing;
  const scale = multiple * withinSubgroupStandardDeviation;
  const added = (smoothing * smoothing) / size;
  let average = basis.start;
  let varianceRatio = limits === 'asymptotic' ? smoothing / (2 - smoothing) / size : 0;
  let settled = limits === 'asymptotic';
  let index = 0;
  for (; index < values.length && !settled; index++) {
    const next = added + kept * kept * varianceRatio;
    settled = next === varianceRatio;
    varianceRatio = next;
    const width = scale * Math.sqrt(varianceRatio);
    average += smoothing * (values[index]! - average);
    averages[index] = average;
    lowerControlLimits[index] = target - width;
    upperControlLimits[index] = target + width;
    beyondLimits[index] = average > target + width ? 1 : average < target - width ? 2 : 0;
  }
  const width = scale * Math.sqrt(varianceRatio);
  const upper = target + width;
  const lower = target - width;
  lowerControlLimits.fill(lower, index);
  upperControlLimits.fill(upper, index);
  for (; index < values.length; index++) {
    average += smoothing * (values[index]! - average);
    averages[index] = average;
    beyondLimits[index] = average > upper ? 1 : average < lower ? 2 : 0;
  }
}

function fillWithSizes(
  values: Float64Array,
  sizes: ArrayLike<number>,
  basis: EwmaBasis,
  columns: ChartColumns,
): void {
  const { target, withinSubgroupStandardDeviation, smoothing, multiple, limits } = basis;
  const { values: averages, lowerControlLimits, upperControlLimits, beyondLimits } = columns;
  const kept = 1 - smoothing;
  const scale = multiple * withinSubgroupStandardDeviation;
  const settles = limits === 'asymptotic';
  let average = basis.start;
  let varianceRatio = 0;
  for (let index = 0; index < values.length; index++) {
    const size = sizes[index]!;
    varianceRatio = settles
      ? smoothing / (2 - smoothing) / size
      : (smoothing * smoothing) / size + kept * kept * varianceRatio;
    const width = scale * Math.sqrt(varianceRatio);
    average += smoothing * (values[index]! - average);
    averages[index] = average;
    lowerControlLimits[index] = target - width;
    upperControlLimits[index] = target + width;
    beyondLimits[index] = average > target + width ? 1 : average < target - width ? 2 : 0;
  }
}
