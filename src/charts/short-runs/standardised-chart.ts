import { requireWhole } from '../../checks.ts';
import type { Outcome } from '../../errors.ts';
import { rangeMoments } from '../../samples/range-moments.ts';
import type { ProcessStandard } from '../control-chart.ts';
import type { PartSample } from './part-models.ts';
import {
  type PartScale,
  requireScales,
  type ShortRunCharts,
  type ShortRunColumns,
  type ShortRunPoint,
  shortRunCharts,
  shortRunPoint,
  shortRunSubgroupColumns,
} from './short-run-charts.ts';

/** A part model, where its characteristic should be, and how far its readings spread. */
export interface StandardisedModel {
  readonly part: string;
  /** In the unit of the readings, within ±1e140. */
  readonly target: number;
  /** Average range of subgroups of `subgroupSize` readings, > 0. */
  readonly averageRange: number;
}

export interface StandardisedOptions {
  /** Every part model of the stream, each once. */
  readonly models: readonly StandardisedModel[];
  /** Readings in the subgroups that the average ranges come from, 2 … 100. */
  readonly subgroupSize: number;
  /** Standard deviations between center line and limit, > 0, at most 1000. Default 3. */
  readonly multiple?: number;
}

/**
 * Standardised mean and range charts for short runs of part models that spread differently: (mean − target)/average range
 * and range/average range, each with the figures of its own model.
 *
 * Limits ± k/(d2 √n) about 0, and 1 ± k d3/d2. A subgroup of another size n than the average ranges come from keeps its
 * values, and its range chart is centred at d2(n)/d2(subgroupSize).
 *
 * @param samples  subgroups in time order, each with the name of its part model; readings in one unit, null for a missing
 *                 one, within ±1e140.
 * @param options  models with target and average range (from their own history); subgroupSize; multiple.
 * @returns        both charts without unit, limits at each point, and the part model at each point.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `not-an-integer`, `unknown-name` (a part without
 *                 a model).
 *
 * Source: ISO 7870-8; Farnum, Control charts for short runs, Journal of Quality Technology 24(3), 1992; Montgomery,
 * Introduction to Statistical Quality Control, section 10.1.
 *
 * @example
 * const models = [{ part: 'A', target: 10, averageRange: 0.5 }, { part: 'B', target: 25, averageRange: 2 }];
 * const samples = [{ part: 'A', readings: [10.5, 10] }, { part: 'B', readings: [28, 27] }];
 * standardisedChart(samples, { models, subgroupSize: 2 });
 * // available, location.points[0].value 0.5, location.points[1].value 1.25, spread.points[1].value 0.5, spread.points[0].limits.upperControlLimit 3.26…
 */
export function standardisedChart(
  samples: readonly PartSample[],
  options: StandardisedOptions,
): Outcome<ShortRunCharts> {
  const scales = standardisedScales(options.models, 'options');
  const standard = standardisedStandard(options.subgroupSize, 'options.subgroupSize');
  return shortRunCharts('mean-range', samples, scales, ['standardised mean', 'standardised range'], {
    standard,
    method: 'range',
    multiple: options.multiple,
  });
}

/**
 * One sample on live standardised charts; it needs no history.
 *
 * @param sample    name of the part model, and its readings.
 * @param settings  as in standardisedChart.
 * @returns         a point of either chart, index 0.
 * @throws          StatisticsError as standardisedChart.
 *
 * Source: as standardisedChart.
 *
 * @example
 * const settings = { models: [{ part: 'B', target: 25, averageRange: 2 }], subgroupSize: 2 };
 * standardisedPoint({ part: 'B', readings: [30, 29] }, settings);
 * // location.value 2.25, location.limits.upperControlLimit 1.879…, location.beyondLimits true, spread.value 0.5
 */
export function standardisedPoint(sample: PartSample, settings: StandardisedOptions): ShortRunPoint {
  const scales = standardisedScales(settings.models, 'settings');
  const standard = standardisedStandard(settings.subgroupSize, 'settings.subgroupSize');
  return shortRunPoint(sample, scales, standard, settings.multiple);
}

/**
 * Standardised charts of a long series in columns, nothing allocated a sample. The limits are those of standardisedPoint.
 *
 * @param readings  subgroup after subgroup, all of settings.subgroupSize, none missing.
 * @param parts     for each subgroup the place of its part model in settings.models, from 0.
 * @param settings  as in standardisedChart.
 * @param columns   columns with one entry a subgroup to fill again; absent: new ones.
 * @returns         standardised means and ranges, and which are beyond their limits.
 * @throws          StatisticsError as standardisedChart, `sizes-differ`.
 *
 * Source: as standardisedChart.
 *
 * @example
 * const models = [{ part: 'A', target: 10, averageRange: 0.5 }, { part: 'B', target: 25, averageRange: 2 }];
 * standardisedColumns(Float64Array.of(30, 29, 10.5, 10), Uint16Array.of(1, 0), { models, subgroupSize: 2 });
 * // location.0 2.25, spread.0 0.5, location.1 0.5, locationBeyondLimits.0 1, locationBeyondLimits.1 0
 */
export function standardisedColumns(
  readings: Float64Array,
  parts: Uint16Array,
  settings: StandardisedOptions,
  columns?: ShortRunColumns,
): ShortRunColumns {
  const scales = standardisedScales(settings.models, 'settings');
  const standard = standardisedStandard(settings.subgroupSize, 'settings.subgroupSize');
  const { multiple, subgroupSize } = settings;
  return shortRunSubgroupColumns({ readings, parts, scales, standard, multiple, columns }, subgroupSize);
}

function standardisedScales(models: readonly StandardisedModel[], argument: string): PartScale[] {
  const scales = models.map(({ part, target, averageRange }) => ({
    part,
    origin: target,
    scale: averageRange,
  }));
  requireScales(scales, argument, ['target', 'averageRange']);
  return scales;
}

/** In average ranges the standard deviation inside a subgroup is 1/d2. */
function standardisedStandard(subgroupSize: number, argument: string): ProcessStandard {
  requireWhole(subgroupSize, 2, 100, argument);
  return {
    mean: 0,
    withinSubgroupStandardDeviation: 1 / rangeMoments(subgroupSize, argument).d2,
    meanStandardDeviation: null,
  };
}
