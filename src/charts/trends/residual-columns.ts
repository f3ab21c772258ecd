import { requireSameLength } from '../../checks.ts';
import { requireMultiple, requireReadings } from '../small-shifts/time-weighted.ts';
import { limitsOf, type ResidualChartSettings, requireModel, widening } from './residual-chart.ts';

/** One entry a point; the limits are the same for all points. */
export interface ResidualColumns {
  readonly values: Float64Array;
  /** 0 inside or on the limits, 1 above the upper, 2 below the lower limit. */
  readonly beyondLimits: Uint8Array;
}

/**
 * Residual chart of a long series at once: the numbers of residualChart in columns, nothing allocated a point.
 *
 * @param values    numbers in time order, one unit, none missing; may be empty.
 * @param settings  as residualChart, with a model.
 * @param columns   columns of the same length to write over; default new ones.
 * @returns         the columns and the limits, in the unit of the values.
 * @throws          as residualChart; `sizes-differ` where a column has another length.
 *
 * Source: as residualChart.
 *
 * @example
 * residualColumns(Float64Array.of(10, 11, 15), { model: { mean: 10, coefficient: 0.5, residualStandardDeviation: 1 } });
 * // values.1 1, values.2 4.5, beyondLimits.2 1, upperControlLimit 3
 */
export function residualColumns(
  values: Float64Array,
  settings: ResidualChartSettings,
  columns?: ResidualColumns,
): ResidualColumns & { readonly lowerControlLimit: number; readonly upperControlLimit: number } {
  const { model, multiple = 3 } = settings;
  requireModel(model, 'settings.model');
  requireMultiple(multiple, 'settings.multiple');
  requireReadings(values, 'values');
  const residuals = columns?.values ?? new Float64Array(values.length);
  const beyondLimits = columns?.beyondLimits ?? new Uint8Array(values.length);
  requireSameLength(residuals.length, values.length, 'columns.values', 'values');
  requireSameLength(beyondLimits.length, values.length, 'columns.beyondLimits', 'values');
  const limits = limitsOf(model, multiple);
  const lower = limits.lowerControlLimit!;
  const upper = limits.upperControlLimit!;
  const { mean, coefficient } = model;
  let before = 0;
  for (let index = 0; index < values.length; index++) {
    const deviation = values[index]! - mean;
    const residual = deviation - coefficient * before;
    residuals[index] = residual;
    beyondLimits[index] = residual > upper ? 1 : residual < lower ? 2 : 0;
    before = deviation;
  }
  if (values.length > 0) {
    // Nothing foretold the first value: it is brought to the standard deviation of the others.
    const first = (values[0]! - mean) / widening(coefficient, null);
    residuals[0] = first;
    beyondLimits[0] = first > upper ? 1 : first < lower ? 2 : 0;
  }
  return { values: residuals, beyondLimits, lowerControlLimit: lower, upperControlLimit: upper };
}
