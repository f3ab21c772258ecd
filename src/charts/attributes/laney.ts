/** The one core of p′ and u′ charts: a p or u chart whose limits follow the variation between samples as well. */
import { requireBetween } from '../../checks.ts';
import type { Outcome, Unavailable } from '../../errors.ts';
import { movingRanges } from '../../samples/moving-ranges.ts';
import { rangeMoments } from '../../samples/range-moments.ts';
import type { ChartColumns } from '../chart-columns.ts';
import type { ChartPoint } from '../control-chart.ts';
import { requireMultiple } from '../small-shifts/time-weighted.ts';
import {
  type AttributesBasis,
  type AttributesChart,
  attributesBasis,
  attributesColumns,
  attributesPoint,
  attributesPoints,
} from './attributes-chart.ts';
import {
  type AttributesFamily,
  type AttributesLimits,
  plottedStandardDeviation,
  unitVariance,
} from './attributes-family.ts';
import type { CountSample } from './count-sample.ts';

export interface LaneyChartOptions {
  /** Given center line of one part or unit. Absent: estimated from the samples. */
  readonly standard?: number;
  /**
   * Given standard deviation of the standardised values: 1 where samples vary as binomial or Poisson counts do, more
   * where the process itself moves between samples. 1e-6 … 1e6. Absent: estimated from their moving ranges.
   */
  readonly zStandardDeviation?: number;
  /** Standard deviations between center line and limit, > 0, at most 1000. Default 3. */
  readonly multiple?: number;
}

export interface LaneySettings extends LaneyChartOptions {
  readonly standard: number;
  readonly zStandardDeviation: number;
}

export interface LaneyBasis extends AttributesBasis {
  /** What the limits of the plain chart are widened (or narrowed) by. */
  readonly zStandardDeviation: number;
  readonly zOrigin: 'given' | 'estimated';
  /** Standardised value of each sample, (value − center line)/standard deviation; null for a missing one. */
  readonly z: readonly (number | null)[];
}

export type LaneyChart = AttributesChart<LaneyBasis>;

/** Standardised value of each sample; null where every sample has the same value for sure. */
export function standardisedCounts(
  { distribution }: Pick<AttributesFamily, 'distribution'>,
  samples: readonly (CountSample | null)[],
  standard: number,
): readonly (number | null)[] | null {
  const variance = unitVariance(distribution, standard);
  if (variance === 0) return null;
  return samples.map((sample) =>
    sample === null
      ? null
      : (sample.count / sample.size - standard) / plottedStandardDeviation(variance, sample.size, true),
  );
}

/** Average moving range of neighbours over d2(2); null where no two samples follow each other. */
export function zStandardDeviationOf(z: readonly (number | null)[]): number | null {
  const ranges = movingRanges(z).filter((range) => range !== null);
  return ranges.length === 0
    ? null
    : ranges.reduce((sum, range) => sum + range, 0) / ranges.length / rangeMoments(2).d2;
}

export function laneyChart(
  family: AttributesFamily,
  samples: readonly (CountSample | null)[],
  options: LaneyChartOptions,
): Outcome<LaneyChart> {
  requireMultiple(options.multiple ?? 3, 'options.multiple');
  if (options.zStandardDeviation !== undefined)
    requireWidening(options.zStandardDeviation, 'options.zStandardDeviation');
  const outcome = attributesBasis(family, samples, options.standard);
  if (!outcome.available) return outcome;
  const { available, ...basis } = outcome;
  const z = standardisedCounts(family, samples, basis.standard);
  if (z === null) return noVariation;
  const zStandardDeviation = options.zStandardDeviation ?? zStandardDeviationOf(z);
  if (zStandardDeviation === null) return noNeighbours;
  if (zStandardDeviation === 0) return noVariation;
  return {
    available,
    basis: {
      ...basis,
      zStandardDeviation,
      zOrigin: options.zStandardDeviation === undefined ? 'estimated' : 'given',
      z,
    },
    ...attributesPoints(
      family,
      samples,
      basis.standard,
      { multiple: options.multiple ?? 3 },
      zStandardDeviation,
    ),
  };
}

const noVariation: Unavailable = {
  available: false,
  reason: 'no-variation',
  message:
    'The samples do not vary, so nothing can be said about variation between them. Take larger samples, or use the plain chart.',
};

const noNeighbours: Unavailable = {
  available: false,
  reason: 'too-few-values',
  message: 'There are no two samples in a row to compare. Inspect more, or give zStandardDeviation.',
};

function requireWidening(value: number, argument: string): void {
  requireBetween(value, 1e-6, 1e6, argument);
}

export function laneyPoint(
  family: AttributesFamily,
  sample: CountSample | null,
  { standard, zStandardDeviation, multiple }: LaneySettings,
): ChartPoint<AttributesLimits> {
  requireWidening(zStandardDeviation, 'settings.zStandardDeviation');
  return attributesPoint(family, sample, { standard, multiple: multiple ?? 3 }, zStandardDeviation);
}

export function laneyColumns(
  family: AttributesFamily,
  counts: Float64Array,
  sizes: Float64Array,
  { standard, zStandardDeviation, multiple }: LaneySettings,
  columns: ChartColumns | undefined,
): ChartColumns {
  requireWidening(zStandardDeviation, 'settings.zStandardDeviation');
  return attributesColumns(
    family,
    counts,
    sizes,
    { standard, multiple: multiple ?? 3 },
    columns,
    zStandardDeviation,
  );
}
