/** The one core of p, np, c and u charts, plain and widened after Laney: they differ in their family only. */
import { requireSameLength } from '../../checks.ts';
import { type Outcome, StatisticsError, type Unavailable } from '../../errors.ts';
import { type ChartColumns, chartColumns } from '../chart-columns.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult } from '../control-chart.ts';
import {
  type AttributesFamily,
  type AttributesLimits,
  type AttributesLimitsOptions,
  attributesLimits,
  largestValue,
  plottedStandardDeviation,
  requireExactSize,
  requireLimitsOptions,
  requireStandard,
  unitVariance,
} from './attributes-family.ts';
import { type CountSample, requireCountAndSize, requireCountSample } from './count-sample.ts';

export interface AttributesChartOptions extends AttributesLimitsOptions {
  /**
   * Given center line of one part or unit: the proportion nonconforming (0 … 1), or the nonconformities per unit
   * (0 … 1e100). Absent: estimated from the samples.
   */
  readonly standard?: number;
}

/** For live use and for columns the center line is given. */
export interface AttributesSettings extends AttributesLimitsOptions {
  readonly standard: number;
}

/** What the limits of an attributes chart were computed from. */
export interface AttributesBasis {
  /** Proportion nonconforming, or nonconformities per unit. */
  readonly standard: number;
  readonly origin: 'given' | 'estimated';
  /** Samples present, parts or units in them, and what was counted in them. */
  readonly samples: number;
  readonly totalSize: number;
  readonly totalCount: number;
}

export type AttributesChart<Basis = AttributesBasis> = ChartResult<Basis, AttributesLimits>;

/** Checks the samples and takes the given center line, or all counts over all sizes. */
export function attributesBasis(
  family: AttributesFamily,
  samples: readonly (CountSample | null)[],
  standard: number | undefined,
): Outcome<AttributesBasis> {
  if (samples.length === 0) throw new StatisticsError('empty', 'samples', samples);
  if (standard !== undefined) requireStandard(family, standard, 'options.standard');
  let present = 0;
  let totalSize = 0;
  let totalCount = 0;
  samples.forEach((sample, index) => {
    if (sample === null) return;
    requireCountSample(sample, family.distribution, `samples.${index}`);
    present++;
    totalSize += sample.size;
    totalCount += sample.count;
  });
  if (present === 0) return noSample;
  return {
    available: true,
    standard: standard ?? totalCount / totalSize,
    origin: standard === undefined ? 'estimated' : 'given',
    samples: present,
    totalSize,
    totalCount,
  };
}

const noSample: Unavailable = {
  available: false,
  reason: 'too-few-values',
  message: 'Every sample is missing. Inspect at least one.',
};

export function attributesChart(
  family: AttributesFamily,
  samples: readonly (CountSample | null)[],
  options: AttributesChartOptions,
): Outcome<AttributesChart> {
  requireLimitsOptions(options, 'options');
  const outcome = attributesBasis(family, samples, options.standard);
  if (!outcome.available) return outcome;
  const { available, ...basis } = outcome;
  return { available, basis, ...attributesPoints(family, samples, basis.standard, options) };
}

/** Points of samples that have been checked. */
export function attributesPoints(
  family: AttributesFamily,
  samples: readonly (CountSample | null)[],
  standard: number,
  options: AttributesLimitsOptions,
  widening = 1,
) {
  const bySize = new Map<number, AttributesLimits>();
  const points = samples.map((sample, index): ChartPoint<AttributesLimits> => {
    if (sample === null) return chartPoint<AttributesLimits>(index, null, 0, null);
    const { count, size } = sample;
    let limits = bySize.get(size);
    if (limits === undefined) {
      if (options.falseAlarmProbability !== undefined)
        requireExactSize(family, standard, size, `samples.${index}.size`);
      limits = attributesLimits(family, standard, size, options, widening);
      bySize.set(size, limits);
    }
    return chartPoint(index, family.perUnit ? count / size : count, size, limits);
  });
  return { statistic: family.statistic, points, signals: signalsOf(points) };
}

export function attributesPoint(
  family: AttributesFamily,
  sample: CountSample | null,
  settings: AttributesSettings,
  widening = 1,
): ChartPoint<AttributesLimits> {
  requireLimitsOptions(settings, 'settings');
  requireStandard(family, settings.standard, 'settings.standard');
  if (sample !== null) {
    requireCountSample(sample, family.distribution, 'sample');
    if (settings.falseAlarmProbability !== undefined)
      requireExactSize(family, settings.standard, sample.size, 'sample.size');
  }
  return attributesPoints(family, [sample], settings.standard, settings, widening).points[0]!;
}

export function attributesColumns(
  family: AttributesFamily,
  counts: Float64Array,
  sizes: Float64Array,
  settings: AttributesSettings,
  columns: ChartColumns | undefined,
  widening = 1,
): ChartColumns {
  requireLimitsOptions(settings, 'settings');
  requireStandard(family, settings.standard, 'settings.standard');
  requireSameLength(sizes.length, counts.length, 'sizes', 'counts');
  const filled = chartColumns(counts.length, columns, 'columns');
  requireCounts(family, counts, sizes);
  if (settings.falseAlarmProbability === undefined)
    fillColumns(family, counts, sizes, settings, filled, widening);
  else fillExactColumns(family, counts, sizes, settings, filled);
  return filled;
}

/** A quick look at every sample; one that looks wrong is checked with words. */
function requireCounts({ distribution }: AttributesFamily, counts: Float64Array, sizes: Float64Array): void {
  const binomial = distribution === 'binomial';
  for (let index = 0; index < counts.length; index++) {
    const count = counts[index]!;
    const size = sizes[index]!;
    const plausible =
      count >= 0 &&
      Math.floor(count) === count &&
      count <= (binomial ? size : Number.MAX_SAFE_INTEGER) &&
      size <= Number.MAX_SAFE_INTEGER &&
      (binomial ? size >= 1 && Math.floor(size) === size : size > 1e-9);
    if (!plausible) requireCountAndSize(count, size, distribution, `counts.${index}`, `sizes.${index}`);
  }
}

function fillColumns(
  family: AttributesFamily,
  counts: Float64Array,
  sizes: Float64Array,
  { standard, multiple = 3 }: AttributesSettings,
  { values, lowerControlLimits, upperControlLimits, beyondLimits }: ChartColumns,
  widening: number,
): void {
  const { perUnit } = family;
  const variance = unitVariance(family.distribution, standard);
  for (let index = 0; index < counts.length; index++) {
    const count = counts[index]!;
    const size = sizes[index]!;
    const value = perUnit ? count / size : count;
    const centerLine = perUnit ? standard : size * standard;
    const most = largestValue(family, size);
    const distance = multiple * (widening * plottedStandardDeviation(variance, size, perUnit));
    let lower = centerLine - distance;
    if (lower < 0) lower = 0;
    let upper = centerLine + distance;
    if (upper > most) upper = most;
    values[index] = value;
    lowerControlLimits[index] = lower;
    upperControlLimits[index] = upper;
    beyondLimits[index] = value > upper ? 1 : value < lower ? 2 : 0;
  }
}

const slots = 1024;

/** Exact limits are looked up: they are computed once for each size that occurs. */
function fillExactColumns(
  family: AttributesFamily,
  counts: Float64Array,
  sizes: Float64Array,
  settings: AttributesSettings,
  { values, lowerControlLimits, upperControlLimits, beyondLimits }: ChartColumns,
): void {
  const bySize = new Map<number, AttributesLimits>();
  // The map is asked only where another size stands in the slot of this one.
  const slotSizes = new Float64Array(slots);
  const slotLower = new Float64Array(slots);
  const slotUpper = new Float64Array(slots);
  for (let index = 0; index < counts.length; index++) {
    const size = sizes[index]!;
    const slot = Math.floor(size) % slots;
    if (slotSizes[slot] !== size) {
      let limits = bySize.get(size);
      if (limits === undefined) {
        requireExactSize(family, settings.standard, size, `sizes.${index}`);
        limits = attributesLimits(family, settings.standard, size, settings);
        bySize.set(size, limits);
      }
      slotSizes[slot] = size;
      slotLower[slot] = limits.lowerControlLimit ?? 0;
      slotUpper[slot] = limits.upperControlLimit ?? largestValue(family, size);
    }
    const lower = slotLower[slot]!;
    const upper = slotUpper[slot]!;
    const value = family.perUnit ? counts[index]! / size : counts[index]!;
    values[index] = value;
    lowerControlLimits[index] = lower;
    upperControlLimits[index] = upper;
    beyondLimits[index] = value > upper ? 1 : value < lower ? 2 : 0;
  }
}
