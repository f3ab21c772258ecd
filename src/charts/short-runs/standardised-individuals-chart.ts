import type { Outcome } from '../../errors.ts';
import type { ProcessStandard } from '../control-chart.ts';
import type { PartValue } from './part-models.ts';
import {
  type PartScale,
  requireScales,
  type ShortRunCharts,
  type ShortRunColumns,
  type ShortRunPoint,
  type ShortRunState,
  shortRunCharts,
  shortRunIndividualsColumns,
  shortRunNext,
  shortRunStart,
} from './short-run-charts.ts';

/** A part model with the level and spread of its single values. */
export interface StandardisedIndividualsModel {
  readonly part: string;
  /** In the unit of the values, within ±1e140. */
  readonly mean: number;
  /** > 0. */
  readonly standardDeviation: number;
}

export interface StandardisedIndividualsOptions {
  /** Every part model of the stream, each once. */
  readonly models: readonly StandardisedIndividualsModel[];
  /** Standard deviations between center line and limit, > 0, at most 1000. Default 3. */
  readonly multiple?: number;
}

/**
 * Standardised individuals and moving range charts (Z and W) for short runs of part models that spread differently:
 * z = (value − mean)/standard deviation with the figures of its own model, and W, the moving range of neighbouring z over
 * the whole sequence, also from one part model to the next.
 *
 * Limits ± k about 0, and d2(2) ± k d3(2).
 *
 * @param samples  single values in time order, each with the name of its part model, within ±1e140; null for a missing
 *                 value, across which no moving range is formed.
 * @param options  models with mean and standard deviation (from their own history); multiple.
 * @returns        both charts without unit, limits at each point, and the part model at each point.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `unknown-name` (a part without a model).
 *
 * Source: ISO 7870-8; Farnum, Control charts for short runs, Journal of Quality Technology 24(3), 1992.
 *
 * @example
 * const models = [{ part: 'A', mean: 10, standardDeviation: 0.5 }, { part: 'B', mean: 25, standardDeviation: 2 }];
 * standardisedIndividualsChart([{ part: 'A', value: 10.5 }, { part: 'B', value: 23 }], { models });
 * // available, location.points[0].value 1, spread.points[1].value 2, spread.points[1].limits.upperControlLimit 3.685…
 */
export function standardisedIndividualsChart(
  samples: readonly PartValue[],
  options: StandardisedIndividualsOptions,
): Outcome<ShortRunCharts> {
  return shortRunCharts(
    'individuals-moving-range',
    samples.map(({ part, value }) => ({ part, readings: [value] })),
    individualsScales(options.models, 'options'),
    ['standardised value', 'moving range'],
    { standard: unitStandard, method: 'moving-range', multiple: options.multiple },
  );
}

/**
 * State of live standardised charts of single values before the first one.
 *
 * @returns  a small plain object for standardisedIndividualsNext, ready to be stored.
 *
 * Source: as standardisedIndividualsChart.
 *
 * @example
 * standardisedIndividualsStart();
 * // index 0, previous null
 */
export function standardisedIndividualsStart(): ShortRunState {
  return shortRunStart;
}

/**
 * The next point of live standardised charts of single values; the cost does not grow with history.
 *
 * @param state     what standardisedIndividualsStart or the last call returned.
 * @param sample    name of the part model, and its value; null for a missing one.
 * @param settings  as in standardisedIndividualsChart.
 * @returns         a point of either chart, and the state for the next value.
 * @throws          StatisticsError as standardisedIndividualsChart.
 *
 * Source: as standardisedIndividualsChart.
 *
 * @example
 * const settings = { models: [{ part: 'B', mean: 25, standardDeviation: 2 }] };
 * standardisedIndividualsNext({ index: 1, previous: 1 }, { part: 'B', value: 18 }, settings);
 * // point.location.value -3.5, point.location.beyondLimits true, point.spread.value 4.5, state.index 2
 */
export function standardisedIndividualsNext(
  state: ShortRunState,
  sample: PartValue,
  settings: StandardisedIndividualsOptions,
): { readonly state: ShortRunState; readonly point: ShortRunPoint } {
  const scales = individualsScales(settings.models, 'settings');
  return shortRunNext(state, sample, scales, unitStandard, settings.multiple);
}

/**
 * Standardised charts of a long series of single values in columns, nothing allocated a value. The limits are the same at
 * every point.
 *
 * @param values    in time order, none missing.
 * @param parts     for each value the place of its part model in settings.models, from 0.
 * @param settings  as in standardisedIndividualsChart.
 * @param columns   columns with one entry a value to fill again; absent: new ones.
 * @returns         z, moving ranges of z (0 stands for the first, which has none), and which are beyond their limits.
 * @throws          StatisticsError as standardisedIndividualsChart, `sizes-differ`.
 *
 * Source: as standardisedIndividualsChart.
 *
 * @example
 * const models = [{ part: 'A', mean: 10, standardDeviation: 0.5 }, { part: 'B', mean: 25, standardDeviation: 2 }];
 * standardisedIndividualsColumns(Float64Array.of(10.5, 18), Uint16Array.of(0, 1), { models });
 * // location.0 1, location.1 -3.5, spread.1 4.5, locationBeyondLimits.1 2, spreadBeyondLimits.1 1
 */
export function standardisedIndividualsColumns(
  values: Float64Array,
  parts: Uint16Array,
  settings: StandardisedIndividualsOptions,
  columns?: ShortRunColumns,
): ShortRunColumns {
  const scales = individualsScales(settings.models, 'settings');
  const { multiple } = settings;
  return shortRunIndividualsColumns({
    readings: values,
    parts,
    scales,
    standard: unitStandard,
    multiple,
    columns,
  });
}

const unitStandard: ProcessStandard = {
  mean: 0,
  withinSubgroupStandardDeviation: 1,
  meanStandardDeviation: null,
};

function individualsScales(models: readonly StandardisedIndividualsModel[], argument: string): PartScale[] {
  const scales = models.map(({ part, mean, standardDeviation }) => ({
    part,
    origin: mean,
    scale: standardDeviation,
  }));
  requireScales(scales, argument, ['mean', 'standardDeviation']);
  return scales;
}
