/**
 * The one core of charts for mixed models: every reading is taken less an origin and over a scale of its part model, and
 * what is left is charted as if it came from one stream. Deviation charts have scale 1.
 */
import { requireBetween, requirePositive, requireSameLength } from '../../checks.ts';
import { type Outcome, StatisticsError } from '../../errors.ts';
import { movingRanges } from '../../samples/moving-ranges.ts';
import type { SubgroupStatistics } from '../../samples/subgroup.ts';
import { subgroupStatistics } from '../../samples/subgroup-statistics.ts';
import { chartPoint } from '../chart-point.ts';
import type {
  ChartKind,
  ChartPoint,
  ChartStatistic,
  ControlChart,
  ControlLimits,
  ProcessStandard,
  StandardDeviationMethod,
} from '../control-chart.ts';
import { requireMultiple } from '../small-shifts/time-weighted.ts';
import { chartBasis, chartPair } from '../variables/chart-pair.ts';
import type { EstimateStandardOptions } from '../variables/estimate-standard.ts';
import { fillMeansAndRanges } from '../variables/fill-means-and-ranges.ts';
import { pointLimits } from '../variables/point-limits.ts';
import { type PartSample, type PartValue, partModels } from './part-models.ts';

/** What is taken off a reading, and what the rest is divided by. */
export interface PartScale {
  readonly part: string;
  readonly origin: number;
  readonly scale: number;
}

/** A pair of charts of several part models. */
export interface ShortRunCharts {
  /** Name of the part model at each point of both charts. */
  readonly parts: readonly string[];
  readonly basis: {
    /** Level and spread of what is charted. */
    readonly standard: ProcessStandard;
    readonly method: StandardDeviationMethod;
    readonly subgroupsUsed: number;
    readonly readingsUsed: number;
    /** Samples of each part model, in the order of the models. */
    readonly samplesByPart: readonly { readonly part: string; readonly samples: number }[];
  };
  readonly location: ControlChart<ControlLimits>;
  readonly spread: ControlChart<ControlLimits>;
}

/** One sample on both charts. */
export interface ShortRunPoint {
  readonly part: string;
  readonly location: ChartPoint<ControlLimits>;
  readonly spread: ChartPoint<ControlLimits>;
}

/** All that the next point of a chart of individuals needs of history. */
export interface ShortRunState {
  /** Place of the next value. */
  readonly index: number;
  /** The last charted value; null before the first and after a missing one. */
  readonly previous: number | null;
}

/** One entry a sample; the limits are the same for all. */
export interface ShortRunColumns {
  readonly location: Float64Array;
  readonly spread: Float64Array;
  /** 0 inside or on the limits, 1 above the upper, 2 below the lower limit. */
  readonly locationBeyondLimits: Uint8Array;
  readonly spreadBeyondLimits: Uint8Array;
}

/** Where a chart draws its limits from: a standard given or fixed by the method, or an estimate. */
export interface ShortRunLimits {
  readonly standard: ProcessStandard | undefined;
  readonly method: EstimateStandardOptions['method'];
  readonly multiple: number | undefined;
}

/** Readings and origins up to here leave their differences inside the range of a double. */
const largest = 1e140;

/** The scales of all models, checked; `fields` are what the caller calls origin and scale. */
export function requireScales(
  scales: readonly PartScale[],
  argument: string,
  fields: readonly string[],
): void {
  scales.forEach(({ origin, scale }, index) => {
    requireBetween(origin, -largest, largest, `${argument}.models.${index}.${fields[0]}`);
    if (fields[1] === undefined) return;
    requirePositive(scale, `${argument}.models.${index}.${fields[1]}`);
    requireBetween(scale, 1 / largest, largest, `${argument}.models.${index}.${fields[1]}`);
  });
}

/** Statistics of one sample of a part model, as they are charted. */
function scaledStatistics(
  { part, readings }: PartSample,
  scaleOf: (part: string, argument: string) => PartScale,
  argument: string,
  readingsArgument = `${argument}.readings`,
): SubgroupStatistics {
  const { origin, scale } = scaleOf(part, `${argument}.part`);
  readings.forEach((reading, place) => {
    if (reading !== null)
      requireBetween(
        reading,
        -largest,
        largest,
        readingsArgument.endsWith('readings') ? `${readingsArgument}.${place}` : readingsArgument,
      );
  });
  const { size, mean, range, standardDeviation } = subgroupStatistics(readings);
  return {
    size,
    mean: mean === null ? null : (mean - origin) / scale,
    range: range === null ? null : range / scale,
    standardDeviation: standardDeviation === null ? null : standardDeviation / scale,
  };
}

export function shortRunCharts(
  kind: ChartKind,
  samples: readonly PartSample[],
  scales: readonly PartScale[],
  names: readonly [ChartStatistic, ChartStatistic],
  { standard, method, multiple }: ShortRunLimits,
  argument = 'samples',
): Outcome<ShortRunCharts> {
  if (samples.length === 0) throw new StatisticsError('empty', argument, samples);
  requireMultiple(multiple ?? 3, 'options.multiple');
  const scaleOf = partModels(scales, 'options');
  const individuals = kind === 'individuals-moving-range';
  const statistics = samples.map((sample, index) =>
    scaledStatistics(
      sample,
      scaleOf,
      `${argument}.${index}`,
      individuals ? `${argument}.${index}.value` : undefined,
    ),
  );
  const outcome = chartBasis(statistics, standard, { method });
  if (!outcome.available) return outcome;
  const ranges = individuals ? movingRanges(statistics.map(({ mean }) => mean)) : [];
  const pair = chartPair(
    kind,
    outcome,
    statistics,
    (index) => {
      const { range, size } = statistics[index]!;
      if (!individuals) return { value: range, size };
      const value = ranges[index]!;
      return { value, size: value === null ? 0 : 2 };
    },
    (size) => pointLimits(kind, outcome.standard, size, { multiple: multiple ?? 3 }),
  );
  const counts = new Map<string, number>(scales.map(({ part }) => [part, 0]));
  for (const { part } of samples) counts.set(part, counts.get(part)! + 1);
  return {
    available: true,
    parts: samples.map(({ part }) => part),
    basis: {
      standard: outcome.standard,
      method: outcome.method,
      subgroupsUsed: outcome.subgroupsUsed,
      readingsUsed: outcome.readingsUsed,
      samplesByPart: [...counts].map(([part, count]) => ({ part, samples: count })),
    },
    location: { statistic: names[0], points: pair.location.points },
    spread: { statistic: names[1], points: pair.spread.points },
  };
}

/** One subgroup with its limits. */
export function shortRunPoint(
  sample: PartSample,
  scales: readonly PartScale[],
  standard: ProcessStandard,
  multiple: number | undefined,
): ShortRunPoint {
  requireMultiple(multiple ?? 3, 'settings.multiple');
  const statistics = scaledStatistics(sample, partModels(scales, 'settings'), 'sample');
  const { size, mean } = statistics;
  const limits = pointLimits('mean-range', standard, size, { multiple: multiple ?? 3 });
  return {
    part: sample.part,
    location: chartPoint(0, mean, size, limits.location),
    spread: chartPoint(0, statistics.range, size, limits.spread),
  };
}

export const shortRunStart: ShortRunState = { index: 0, previous: null };

/** One single value with its limits; the moving range is the distance from the value before, whatever its part model. */
export function shortRunNext(
  state: ShortRunState,
  { part, value }: PartValue,
  scales: readonly PartScale[],
  standard: ProcessStandard,
  multiple: number | undefined,
): { readonly state: ShortRunState; readonly point: ShortRunPoint } {
  requireMultiple(multiple ?? 3, 'settings.multiple');
  requireBetween(state.index, 0, Number.MAX_SAFE_INTEGER - 1, 'state.index');
  if (state.previous !== null) requireBetween(state.previous, -1e305, 1e305, 'state.previous');
  const { mean, size } = scaledStatistics(
    { part, readings: [value] },
    partModels(scales, 'settings'),
    'sample',
    'sample.value',
  );
  const { previous, index } = state;
  const range = mean === null || previous === null ? null : Math.abs(mean - previous);
  const limits = pointLimits('individuals-moving-range', standard, size, { multiple: multiple ?? 3 });
  return {
    state: { index: index + 1, previous: mean },
    point: {
      part,
      location: chartPoint(index, mean, size, limits.location),
      spread: chartPoint(index, range, range === null ? 0 : 2, limits.spread),
    },
  };
}

export interface ShortRunColumnsInput {
  readonly readings: Float64Array;
  /** Place of each sample's part model in the list of models. */
  readonly parts: Uint16Array;
  readonly scales: readonly PartScale[];
  readonly standard: ProcessStandard;
  readonly multiple: number | undefined;
  readonly columns: ShortRunColumns | undefined;
}

/** Checks what the bulk forms share and returns flat lists for their loops. */
function prepareColumns(
  input: ShortRunColumnsInput,
  subgroupSize: number,
  kind: ChartKind,
  argument: string,
) {
  const { readings, parts, scales, standard, multiple, columns } = input;
  requireMultiple(multiple ?? 3, 'settings.multiple');
  partModels(scales, 'settings');
  if (readings.length !== parts.length * subgroupSize)
    throw new StatisticsError(
      'sizes-differ',
      argument,
      readings.length,
      `There are ${parts.length} entries in parts, each for ${subgroupSize} of these.`,
    );
  for (let index = 0; index < parts.length; index++)
    if (parts[index]! >= scales.length) requireBetween(parts[index]!, 0, scales.length - 1, `parts.${index}`);
  for (let index = 0; index < readings.length; index++)
    if (!(Math.abs(readings[index]!) <= largest))
      requireBetween(readings[index]!, -largest, largest, `${argument}.${index}`);
  const filled = columns ?? {
    location: new Float64Array(parts.length),
    spread: new Float64Array(parts.length),
    locationBeyondLimits: new Uint8Array(parts.length),
    spreadBeyondLimits: new Uint8Array(parts.length),
  };
  for (const name of ['location', 'spread', 'locationBeyondLimits', 'spreadBeyondLimits'] as const)
    requireSameLength(filled[name].length, parts.length, `columns.${name}`, 'parts');
  const { location, spread } = pointLimits(kind, standard, subgroupSize, { multiple: multiple ?? 3 });
  return {
    filled,
    origins: Float64Array.from(scales, ({ origin }) => origin),
    dividers: Float64Array.from(scales, ({ scale }) => scale),
    lower: location!.lowerControlLimit ?? -Infinity,
    upper: location!.upperControlLimit ?? Infinity,
    spreadLower: spread!.lowerControlLimit ?? 0,
    spreadUpper: spread!.upperControlLimit ?? Infinity,
  };
}

/** Means and ranges of subgroups of one size, sample after sample. */
export function shortRunSubgroupColumns(input: ShortRunColumnsInput, subgroupSize: number): ShortRunColumns {
  const { readings, parts } = input;
  const { filled, origins, dividers, lower, upper, spreadLower, spreadUpper } = prepareColumns(
    input,
    subgroupSize,
    'mean-range',
    'readings',
  );
  const { location, spread, locationBeyondLimits, spreadBeyondLimits } = filled;
  fillMeansAndRanges(readings, subgroupSize, location, spread, 1);
  for (let sample = 0; sample < parts.length; sample++) {
    const scale = dividers[parts[sample]!]!;
    const mean = (location[sample]! - origins[parts[sample]!]!) / scale;
    const range = spread[sample]! / scale;
    location[sample] = mean;
    spread[sample] = range;
    locationBeyondLimits[sample] = mean > upper ? 1 : mean < lower ? 2 : 0;
    spreadBeyondLimits[sample] = range > spreadUpper ? 1 : range < spreadLower ? 2 : 0;
  }
  return filled;
}

/** Single values and their moving ranges; the first has none, 0 stands for it. */
export function shortRunIndividualsColumns(input: ShortRunColumnsInput): ShortRunColumns {
  const { readings, parts } = input;
  const { filled, origins, dividers, lower, upper, spreadUpper } = prepareColumns(
    input,
    1,
    'individuals-moving-range',
    'values',
  );
  const { location, spread, locationBeyondLimits, spreadBeyondLimits } = filled;
  let previous = 0;
  for (let index = 0; index < parts.length; index++) {
    const value = (readings[index]! - origins[parts[index]!]!) / dividers[parts[index]!]!;
    const range = index === 0 ? 0 : Math.abs(value - previous);
    previous = value;
    location[index] = value;
    spread[index] = range;
    locationBeyondLimits[index] = value > upper ? 1 : value < lower ? 2 : 0;
    spreadBeyondLimits[index] = range > spreadUpper ? 1 : 0;
  }
  return filled;
}
