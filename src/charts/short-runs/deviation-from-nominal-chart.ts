import { requireWhole } from '../../checks.ts';
import type { Outcome } from '../../errors.ts';
import type { ProcessStandard } from '../control-chart.ts';
import type { EstimateStandardOptions } from '../variables/estimate-standard.ts';
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

/** A part model and where its characteristic should be. */
export interface NominalModel {
  readonly part: string;
  /** In the unit of the readings, within ±1e140. */
  readonly nominal: number;
}

export interface DeviationFromNominalOptions {
  /** Every part model of the stream, each once. */
  readonly models: readonly NominalModel[];
  /** Given mean and within-subgroup standard deviation of the deviations. Absent: estimated from all samples. */
  readonly standard?: ProcessStandard;
  /** How to estimate, as in estimateStandard. Default 'range'. */
  readonly method?: Exclude<EstimateStandardOptions['method'], 'moving-range'>;
  /** Standard deviations between center line and limit, > 0, at most 1000. Default 3. */
  readonly multiple?: number;
}

export interface DeviationFromNominalSettings {
  readonly models: readonly NominalModel[];
  readonly standard: ProcessStandard;
  readonly multiple?: number;
}

/**
 * Deviation-from-nominal charts for short runs: several part models made in turn on one machine share one mean and one
 * range chart, each reading taken less the nominal of its model.
 *
 * The models must spread alike, because one average range serves all. Where their ranges differ by about a third or more
 * (common practice, no source), use standardisedChart.
 *
 * @param samples  subgroups in time order, each with the name of its part model; readings in one unit, null for a missing
 *                 one, within ±1e140; sizes may differ.
 * @param options  models with their nominals; standard, or method to estimate it from all samples; multiple.
 * @returns        both charts in the unit of the readings, limits at each point, and the part model at each point.
 *                 Unavailable as estimateStandard.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `unknown-name` (a part without a model, method).
 *
 * Source: ISO 7870-8, charting techniques for short runs and small mixed batches; Montgomery, Introduction to Statistical
 * Quality Control, section 10.1.
 *
 * @example
 * const models = [{ part: 'A', nominal: 10 }, { part: 'B', nominal: 25 }];
 * const samples = [
 *   { part: 'A', readings: [10.1, 9.9] },
 *   { part: 'B', readings: [25.2, 25] },
 *   { part: 'B', readings: [24.9, 25.1] },
 * ];
 * deviationFromNominalChart(samples, { models });
 * // available, parts[1] "B", location.points[1].value 0.1, location.points[0].limits.centerLine 0.0333…, spread.points[0].limits.centerLine 0.2
 */
export function deviationFromNominalChart(
  samples: readonly PartSample[],
  options: DeviationFromNominalOptions,
): Outcome<ShortRunCharts> {
  return shortRunCharts('mean-range', samples, nominalScales(options.models, 'options'), names, {
    standard: options.standard,
    method: options.method ?? 'range',
    multiple: options.multiple,
  });
}

/**
 * One sample on live deviation-from-nominal charts; it needs no history.
 *
 * @param sample    name of the part model, and its readings.
 * @param settings  models; standard (given); multiple.
 * @returns         a point of either chart, index 0.
 * @throws          StatisticsError as deviationFromNominalChart.
 *
 * Source: as deviationFromNominalChart.
 *
 * @example
 * const standard = { mean: 0, withinSubgroupStandardDeviation: 0.1, meanStandardDeviation: null };
 * const settings = { models: [{ part: 'A', nominal: 10 }], standard };
 * deviationFromNominalPoint({ part: 'A', readings: [10.25, 10.5, 10, 10.25] }, settings);
 * // part "A", location.value 0.25, location.limits.upperControlLimit 0.15…, location.beyondLimits true, spread.value 0.5
 */
export function deviationFromNominalPoint(
  sample: PartSample,
  settings: DeviationFromNominalSettings,
): ShortRunPoint {
  const scales = nominalScales(settings.models, 'settings');
  return shortRunPoint(sample, scales, settings.standard, settings.multiple);
}

/**
 * Deviation-from-nominal charts of a long series in columns, nothing allocated a sample. The limits are those of
 * deviationFromNominalPoint for the subgroup size.
 *
 * @param readings  subgroup after subgroup, all of one size, none missing.
 * @param parts     for each subgroup the place of its part model in settings.models, from 0.
 * @param settings  models; standard (given); multiple; subgroupSize 2 … 100.
 * @param columns   columns with one entry a subgroup to fill again; absent: new ones.
 * @returns         deviations of the means, ranges, and which are beyond their limits.
 * @throws          StatisticsError as deviationFromNominalChart, `sizes-differ`.
 *
 * Source: as deviationFromNominalChart.
 *
 * @example
 * const standard = { mean: 0, withinSubgroupStandardDeviation: 0.1, meanStandardDeviation: null };
 * const settings = { models: [{ part: 'A', nominal: 10 }, { part: 'B', nominal: 25 }], standard, subgroupSize: 2 };
 * deviationFromNominalColumns(Float64Array.of(25, 25.125, 10.5, 10.25), Uint16Array.of(1, 0), settings);
 * // location.0 0.0625, location.1 0.375, spread.1 0.25, locationBeyondLimits.0 0, locationBeyondLimits.1 1
 */
export function deviationFromNominalColumns(
  readings: Float64Array,
  parts: Uint16Array,
  settings: DeviationFromNominalSettings & { readonly subgroupSize: number },
  columns?: ShortRunColumns,
): ShortRunColumns {
  const scales = nominalScales(settings.models, 'settings');
  requireWhole(settings.subgroupSize, 2, 100, 'settings.subgroupSize');
  const { standard, multiple, subgroupSize } = settings;
  return shortRunSubgroupColumns({ readings, parts, scales, standard, multiple, columns }, subgroupSize);
}

const names = ['deviation from nominal', 'range'] as const;

/** Deviations keep the unit of the readings. */
export function nominalScales(models: readonly NominalModel[], argument: string): PartScale[] {
  const scales = models.map(({ part, nominal }) => ({ part, origin: nominal, scale: 1 }));
  requireScales(scales, argument, ['nominal']);
  return scales;
}
