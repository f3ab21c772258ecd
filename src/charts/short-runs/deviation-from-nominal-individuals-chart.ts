import type { Outcome } from '../../errors.ts';
import type { ProcessStandard } from '../control-chart.ts';
import {
  type DeviationFromNominalSettings,
  type NominalModel,
  nominalScales,
} from './deviation-from-nominal-chart.ts';
import type { PartValue } from './part-models.ts';
import {
  type ShortRunCharts,
  type ShortRunColumns,
  type ShortRunPoint,
  type ShortRunState,
  shortRunCharts,
  shortRunIndividualsColumns,
  shortRunNext,
  shortRunStart,
} from './short-run-charts.ts';

export interface DeviationFromNominalIndividualsOptions {
  /** Every part model of the stream, each once. */
  readonly models: readonly NominalModel[];
  /** Given mean and standard deviation of the deviations. Absent: estimated from their moving ranges. */
  readonly standard?: ProcessStandard;
  /** Standard deviations between center line and limit, > 0, at most 1000. Default 3. */
  readonly multiple?: number;
}

/**
 * Deviation-from-nominal charts of single values: several part models made in turn on one machine share one individuals
 * and one moving range chart, each value taken less the nominal of its model.
 *
 * Moving ranges are taken over the whole sequence, also from one part model to the next. The models must spread alike;
 * where they do not, use standardisedIndividualsChart.
 *
 * @param samples  single values in time order, each with the name of its part model, in one unit, within ±1e140; null for a
 *                 missing value, across which no moving range is formed.
 * @param options  models with their nominals; standard, or absent to estimate it; multiple.
 * @returns        both charts in the unit of the values, limits at each point, and the part model at each point.
 *                 Unavailable as estimateStandard.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `unknown-name` (a part without a model).
 *
 * Source: ISO 7870-8, charting techniques for short runs and small mixed batches.
 *
 * @example
 * const models = [{ part: 'A', nominal: 10 }, { part: 'B', nominal: 25 }];
 * const samples = [{ part: 'A', value: 10.5 }, { part: 'B', value: 25.25 }, { part: 'B', value: 24.75 }];
 * deviationFromNominalIndividualsChart(samples, { models });
 * // available, location.points[1].value 0.25, spread.points[2].value 0.5, parts[2] "B"
 */
export function deviationFromNominalIndividualsChart(
  samples: readonly PartValue[],
  options: DeviationFromNominalIndividualsOptions,
): Outcome<ShortRunCharts> {
  return shortRunCharts(
    'individuals-moving-range',
    samples.map(({ part, value }) => ({ part, readings: [value] })),
    nominalScales(options.models, 'options'),
    ['deviation from nominal', 'moving range'],
    { standard: options.standard, method: 'moving-range', multiple: options.multiple },
  );
}

/**
 * State of live deviation-from-nominal charts of single values before the first one.
 *
 * @returns  a small plain object for deviationFromNominalIndividualsNext, ready to be stored.
 *
 * Source: as deviationFromNominalIndividualsChart.
 *
 * @example
 * deviationFromNominalIndividualsStart();
 * // index 0, previous null
 */
export function deviationFromNominalIndividualsStart(): ShortRunState {
  return shortRunStart;
}

/**
 * The next point of live deviation-from-nominal charts of single values; the cost does not grow with history.
 *
 * @param state     what deviationFromNominalIndividualsStart or the last call returned.
 * @param sample    name of the part model, and its value; null for a missing one.
 * @param settings  models; standard (given); multiple.
 * @returns         a point of either chart, and the state for the next value.
 * @throws          StatisticsError as deviationFromNominalIndividualsChart.
 *
 * Source: as deviationFromNominalIndividualsChart.
 *
 * @example
 * const standard = { mean: 0, withinSubgroupStandardDeviation: 0.125, meanStandardDeviation: null };
 * const settings = { models: [{ part: 'A', nominal: 10 }], standard };
 * deviationFromNominalIndividualsNext({ index: 1, previous: -0.25 }, { part: 'A', value: 10.5 }, settings);
 * // point.location.value 0.5, point.location.beyondLimits true, point.spread.value 0.75, state.previous 0.5
 */
export function deviationFromNominalIndividualsNext(
  state: ShortRunState,
  sample: PartValue,
  settings: DeviationFromNominalSettings,
): { readonly state: ShortRunState; readonly point: ShortRunPoint } {
  const scales = nominalScales(settings.models, 'settings');
  return shortRunNext(state, sample, scales, settings.standard, settings.multiple);
}

/**
 * Deviation-from-nominal charts of a long series of single values in columns, nothing allocated a value. The limits are the
 * same at every point.
 *
 * @param values    in time order, none missing.
 * @param parts     for each value the place of its part model in settings.models, from 0.
 * @param settings  models; standard (given); multiple.
 * @param columns   columns with one entry a value to fill again; absent: new ones.
 * @returns         deviations, moving ranges (0 stands for the first, which has none), and which are beyond their limits.
 * @throws          StatisticsError as deviationFromNominalIndividualsChart, `sizes-differ`.
 *
 * Source: as deviationFromNominalIndividualsChart.
 *
 * @example
 * const standard = { mean: 0, withinSubgroupStandardDeviation: 0.125, meanStandardDeviation: null };
 * const settings = { models: [{ part: 'A', nominal: 10 }, { part: 'B', nominal: 25 }], standard };
 * deviationFromNominalIndividualsColumns(Float64Array.of(25.25, 10.5), Uint16Array.of(1, 0), settings);
 * // location.1 0.5, spread.1 0.25, locationBeyondLimits.0 0, locationBeyondLimits.1 1
 */
export function deviationFromNominalIndividualsColumns(
  values: Float64Array,
  parts: Uint16Array,
  settings: DeviationFromNominalSettings,
  columns?: ShortRunColumns,
): ShortRunColumns {
  const scales = nominalScales(settings.models, 'settings');
  const { standard, multiple } = settings;
  return shortRunIndividualsColumns({ readings: values, parts, scales, standard, multiple, columns });
}
