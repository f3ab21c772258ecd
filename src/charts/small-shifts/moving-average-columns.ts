import { type ChartColumns, chartColumns } from '../chart-columns.ts';
import { type MovingAverageOptions, movingAverageBasis } from './moving-average-chart.ts';
import { requireReadings, requireSizes } from './time-weighted.ts';

/**
 * Moving average chart of a long series at once: the numbers of movingAverageChart in columns, nothing allocated a
 * point.
 *
 * The sum of a window is the sum of what it holds of the block of `span` values before the newest one's and of that
 * block itself. Nothing is ever subtracted, so no digits are lost to a value that has left the window.
 *
 * @param values   single values or subgroup means in time order, in one unit, none missing.
 * @param options  as in movingAverageChart.
 * @param columns  columns of the same length to fill again; absent: new ones.
 * @returns        the columns, in the unit of the values, equal to those of movingAverageChart to rounding.
 * @throws         StatisticsError as movingAverageChart; `sizes-differ` where a column has another length.
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, section 9.3.
 *
 * @example
 * movingAverageColumns(new Float64Array([9, 11, 13]), { target: 10, withinSubgroupStandardDeviation: 1, span: 2 });
 * // values.2 12, upperControlLimits.0 13, beyondLimits.2 0
 */
export function movingAverageColumns(
  values: Float64Array,
  options: MovingAverageOptions,
  columns?: ChartColumns,
): ChartColumns {
  const { target, withinSubgroupStandardDeviation, span, multiple } = movingAverageBasis(options, 'options');
  const filled = chartColumns(values.length, columns, 'columns');
  requireReadings(values, 'values');
  const { sizes, size = 1 } = options;
  const { values: averages, lowerControlLimits, upperControlLimits, beyondLimits } = filled;
  averagesOf(values, span, averages);
  const scale = multiple * withinSubgroupStandardDeviation;
  const filling = Math.min(span, values.length);
  if (sizes === undefined) {
    for (let index = 0; index < filling; index++) {
      const width = (scale * Math.sqrt((index + 1) / size)) / (index + 1);
      lowerControlLimits[index] = target - width;
      upperControlLimits[index] = target + width;
    }
    const width = (scale * Math.sqrt(span / size)) / span;
    lowerControlLimits.fill(target - width, filling);
    upperControlLimits.fill(target + width, filling);
  } else {
    requireSizes(sizes, values, 'options.sizes');
    for (let index = 0; index < sizes.length; index++) upperControlLimits[index] = 1 / sizes[index]!;
    averagesOf(upperControlLimits, span, lowerControlLimits);
    for (let index = 0; index < sizes.length; index++) {
      const width = scale * Math.sqrt(lowerControlLimits[index]! / Math.min(span, index + 1));
      lowerControlLimits[index] = target - width;
      upperControlLimits[index] = target + width;
    }
  }
  for (let index = 0; index < values.length; index++) {
    const average = averages[index]!;
    beyondLimits[index] =
      average > upperControlLimits[index]! ? 1 : average < lowerControlLimits[index]! ? 2 : 0;
  }
  return filled;
}

/** Average of the last `span` values at each place, of all there are at the first places. */
function averagesOf(values: Float64Array, span: number, averages: Float64Array): void {
  // remaining[j]: sum of the block before from its place j to its end.
  const remaining = new Float64Array(span + 1);
  for (let block = 0; block < values.length; block += span) {
    const end = Math.min(block + span, values.length);
    let sum = 0;
    for (let index = block; index < end; index++) {
      sum += values[index]!;
      averages[index] = (remaining[index - block + 1]! + sum) / (block === 0 ? index + 1 : span);
    }
    let rest = 0;
    for (let place = end - block - 1; place >= 0; place--) {
      rest += values[block + place]!;
      remaining[place] = rest;
    }
  }
}
