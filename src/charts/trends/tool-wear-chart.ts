import { requireFinite, requirePositive } from '../../checks.ts';
import { type Outcome, StatisticsError } from '../../errors.ts';
import { requireWearSample, type WearLine, type WearSample, wearLine } from '../../wear/wear-line.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult, ControlLimits } from '../control-chart.ts';
import { requireColumns } from '../require-columns.ts';

export interface ToolWearChartOptions {
  /** Standard deviations between line and limit, > 0. Default 3. */
  readonly multiple?: number;
}

export interface ToolWearBasis {
  readonly line: WearLine;
  readonly multiple: number;
}

/** The line that one cycle is judged by. */
export interface WearSettings {
  /** Change of the value with each hit. */
  readonly slope: number;
  /** Value of the line at 0 hits in this cycle. */
  readonly intercept: number;
  readonly residualStandardDeviation: number;
  /** Standard deviations between line and limit, > 0. Default 3. */
  readonly multiple?: number;
}

/**
 * Chart of a value that moves because the tool wears: limits at a fixed distance about the regression line, which starts
 * anew at each regrind. A plain chart would call the wear itself a signal, or hide a fault inside limits as wide as the wear.
 *
 * @param samples  in time order, as in wearLine.
 * @param options  multiple.
 * @returns        measured values with center line a + b·hits and limits multiple · residual standard deviation from it,
 *                 in the unit of the values; the line and its tests. Unavailable as wearLine.
 * @throws         StatisticsError as wearLine; `out-of-range` (options.multiple, or limits too large to compute).
 *
 * Source: ISO 7870-5, trended charts; Montgomery, Introduction to Statistical Quality Control, section 10.7.1.
 *
 * @example
 * toolWearChart([
 *   { hits: 0, value: 5.0, tool: 0 }, { hits: 100, value: 5.3, tool: 0 }, { hits: 200, value: 5.3, tool: 0 },
 *   { hits: 0, value: 5.1, tool: 1 }, { hits: 100, value: 5.2, tool: 1 },
 * ]);
 * // available, points[0].limits.centerLine 5.06…, points[3].limits.upperControlLimit 5.34…, signals []
 */
export function toolWearChart(
  samples: readonly WearSample[],
  options: ToolWearChartOptions = {},
): Outcome<ChartResult<ToolWearBasis, ControlLimits>> {
  const { multiple = 3 } = options;
  requirePositive(multiple, 'options.multiple');
  const line = wearLine(samples);
  if (!line.available) return line;
  const { slope, residualStandardDeviation } = line;
  const intercepts = new Map(line.cycles.map(({ tool, intercept }) => [tool, intercept]));
  const points = samples.map((sample, index) =>
    pointOn(index, sample, {
      slope,
      intercept: intercepts.get(sample.tool)!,
      residualStandardDeviation,
      multiple,
    }),
  );
  return {
    available: true,
    statistic: 'individual value',
    points,
    basis: { line, multiple },
    signals: signalsOf(points),
  };
}

/**
 * Judges one sample by the line of its cycle, while the tool runs.
 *
 * @param sample    hits since the last regrind (≥ 0) and the value, null where it was not measured.
 * @param settings  slope and residual standard deviation (> 0) of a line fitted before, the intercept of this cycle (after a
 *                  regrind with no samples yet: the level that the line had at the first hit), multiple (> 0).
 * @returns         the point with its limits, in the unit of the value; index 0.
 * @throws          StatisticsError `not-finite`, `out-of-range` (name the field).
 *
 * Source: as toolWearChart.
 *
 * @example
 * toolWearPoint({ hits: 200, value: 5.7 }, { slope: 0.001, intercept: 5.1, residualStandardDeviation: 0.1 });
 * // beyondLimits true, limits.centerLine 5.3, limits.upperControlLimit 5.6
 */
export function toolWearPoint(
  sample: { readonly hits: number; readonly value: number | null },
  settings: WearSettings,
): ChartPoint<ControlLimits> {
  requireWearSample({ hits: sample.hits, value: sample.value ?? 0 }, 'sample');
  requireSettings(settings, 'settings');
  return pointOn(0, sample, settings);
}

/** Lines of many cycles at once. */
export interface ToolWearColumnSettings extends Omit<WearSettings, 'intercept'> {
  /** Value of the line at 0 hits, one a cycle. */
  readonly intercepts: ArrayLike<number>;
}

export interface ToolWearColumns {
  readonly centerLines: Float64Array;
  readonly lowerControlLimits: Float64Array;
  readonly upperControlLimits: Float64Array;
  /** 0 inside or on the limits, 1 above the upper, 2 below the lower limit. */
  readonly beyondLimits: Uint8Array;
}

/**
 * Judges a long series by lines fitted before; nothing is allocated a point.
 *
 * @param hits      hits since the last regrind, ≥ 0.
 * @param values    measured values, one for each entry of hits.
 * @param cycles    which entry of settings.intercepts each sample belongs to.
 * @param settings  slope, intercepts, residual standard deviation (> 0), multiple (> 0).
 * @param columns   columns of the same length to fill again; absent: new ones.
 * @returns         the columns; the values themselves are what is plotted.
 * @throws          StatisticsError `empty` (settings.intercepts), `not-finite`, `out-of-range`, `sizes-differ` (name the
 *                  field and the entry).
 *
 * Source: as toolWearChart.
 *
 * @example
 * toolWearColumns(Float64Array.of(100, 200), Float64Array.of(5.2, 5.7), Uint32Array.of(0, 0), {
 *   slope: 0.001, intercepts: [5.1], residualStandardDeviation: 0.1,
 * });
 * // beyondLimits.0 0, beyondLimits.1 1, centerLines.1 5.3
 */
export function toolWearColumns(
  hits: Float64Array,
  values: Float64Array,
  cycles: Uint32Array,
  settings: ToolWearColumnSettings,
  columns: ToolWearColumns = newColumns(values.length),
): ToolWearColumns {
  const { slope, residualStandardDeviation, multiple = 3 } = settings;
  // One kind of list, so that the loop stays fast.
  const intercepts = Float64Array.from(settings.intercepts);
  if (intercepts.length === 0) throw new StatisticsError('empty', 'settings.intercepts', settings.intercepts);
  for (let cycle = 0; cycle < intercepts.length; cycle++)
    requireSettings(
      { slope, intercept: intercepts[cycle]!, residualStandardDeviation, multiple },
      'settings',
    );
  const { centerLines, lowerControlLimits, upperControlLimits, beyondLimits } = columns;
  const filled = { centerLines, lowerControlLimits, upperControlLimits, beyondLimits };
  requireColumns({ hits, cycles }, values.length, '', 'values');
  requireColumns(filled, values.length, 'columns.', 'values');
  const width = multiple * residualStandardDeviation;
  for (let index = 0; index < values.length; index++) {
    const hit = hits[index]!;
    const value = values[index]!;
    const cycle = cycles[index]!;
    const center = intercepts[cycle]! + slope * hit;
    const lower = center - width;
    const upper = center + width;
    // One comparison catches whatever is not finite; which field it was is worked out only then.
    if (!(cycle < intercepts.length && hit >= 0 && upper - lower + Math.abs(value) + hit < Infinity))
      refuse(hit, value, cycle, index, intercepts.length);
    centerLines[index] = center;
    lowerControlLimits[index] = lower;
    upperControlLimits[index] = upper;
    beyondLimits[index] = value > upper ? 1 : value < lower ? 2 : 0;
  }
  return filled;
}

function pointOn(
  index: number,
  { hits, value }: { readonly hits: number; readonly value: number | null },
  { slope, intercept, residualStandardDeviation, multiple = 3 }: WearSettings,
): ChartPoint<ControlLimits> {
  const centerLine = intercept + slope * hits;
  const width = multiple * residualStandardDeviation;
  const lowerControlLimit = centerLine - width;
  const upperControlLimit = centerLine + width;
  if (!Number.isFinite(lowerControlLimit) || !Number.isFinite(upperControlLimit))
    throw new StatisticsError(
      'out-of-range',
      'settings.slope',
      slope,
      'The limits are too large to compute. Check the units.',
    );
  return chartPoint(index, value, value === null ? 0 : 1, {
    centerLine,
    lowerControlLimit,
    upperControlLimit,
    standardDeviation: residualStandardDeviation,
  });
}

function requireSettings(settings: WearSettings, argument: string): void {
  requireFinite(settings.slope, `${argument}.slope`);
  requireFinite(settings.intercept, `${argument}.intercept`);
  requirePositive(settings.residualStandardDeviation, `${argument}.residualStandardDeviation`);
  requirePositive(settings.multiple ?? 3, `${argument}.multiple`);
}

function newColumns(count: number): ToolWearColumns {
  return {
    centerLines: new Float64Array(count),
    lowerControlLimits: new Float64Array(count),
    upperControlLimits: new Float64Array(count),
    beyondLimits: new Uint8Array(count),
  };
}

function refuse(hit: number, value: number, cycle: number, index: number, cycles: number): never {
  requireFinite(hit, `hits.${index}`);
  if (hit < 0) throw new StatisticsError('out-of-range', `hits.${index}`, hit, 'Hits are never negative.');
  requireFinite(value, `values.${index}`);
  if (cycle >= cycles)
    throw new StatisticsError(
      'out-of-range',
      `cycles.${index}`,
      cycle,
      `Choose one of the ${cycles} entries of settings.intercepts.`,
    );
  throw new StatisticsError(
    'out-of-range',
    `hits.${index}`,
    hit,
    'The limits are too large to compute. Check the units.',
  );
}
