/**
 * The one core of Q charts: a statistic whose distribution is known without any history of the process is turned into a
 * standard normal value, so that every chart has limits ± k from the second or third sample on.
 */
import { requireBetween, requireSameLength, requireWhole } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';
import { normalQuantile } from '../../numerics/normal.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ChartResult, ControlLimits } from '../control-chart.ts';
import { requireMultiple } from '../small-shifts/time-weighted.ts';

export interface QOptions {
  /** Standard deviations between center line and limit, > 0, below 40. Default 3. */
  readonly multiple?: number;
}

export interface QChartOptions extends QOptions {
  /**
   * Name of the part model of each sample. Each model keeps a memory of its own, and all are plotted on one chart: this
   * is what makes Q charts fit for short runs. Absent: one model.
   */
  readonly parts?: readonly string[];
}

export interface QBasis {
  /** Samples of each part model; one entry with the name '' where no parts were given. */
  readonly samplesByPart: readonly { readonly part: string; readonly samples: number }[];
}

export type QPoint = ChartPoint<ControlLimits>;

export interface QChart<Basis> extends ChartResult<QBasis & Basis, ControlLimits> {
  /** Name of the part model at each point; empty where no parts were given. */
  readonly parts: readonly string[];
}

/** One entry a point; limits are ± multiple for all. */
export interface QColumns {
  /** Q; 0, the center line, where it does not exist yet. */
  readonly values: Float64Array;
  /** 0 inside or on the limits, 1 above the upper, 2 below the lower limit. */
  readonly beyondLimits: Uint8Array;
}

/**
 * Stands for ± infinity where a probability is exactly 0 or 1 (or too near for a double): farther out than any other Q
 * of a probability can be.
 */
export const certainQ = 40;

/** Readings up to here leave their squares inside the range of a double. */
const largestReading = 1e140;

/** A smaller sum of squares has lost its digits and counts as none. */
export const smallestSquares = 1e-290;

export function requireQReading(value: number, argument: string): void {
  requireBetween(value, -largestReading, largestReading, argument);
}

/** Quick look at a column of readings. */
export function requireQReadings(values: Float64Array, argument: string): void {
  for (let index = 0; index < values.length; index++)
    if (!(Math.abs(values[index]!) <= largestReading))
      requireQReading(values[index]!, `${argument}.${index}`);
}

/** A given standard deviation, one that no reading divided by it leaves the range of a double. */
export function requireQStandardDeviation(value: number, argument: string): void {
  requireBetween(value, 1 / largestReading, largestReading, argument);
}

export function requireQMultiple(multiple: number, argument: string): void {
  requireMultiple(multiple, argument);
  if (multiple >= certainQ)
    throw new StatisticsError('out-of-range', argument, multiple, `It must be below ${certainQ}.`);
}

/** Place and number of samples in a state that came from outside. */
export function requireQCounts(counts: Readonly<Record<string, number>>): void {
  for (const [name, count] of Object.entries(counts))
    requireWhole(count, 0, Number.MAX_SAFE_INTEGER - 1, `state.${name}`);
}

/** z of a probability that is known in both tails, as accurate as the smaller of them. */
export function qOfTails(lower: number, upper: number): number {
  if (lower <= upper) return lower <= 0 ? -certainQ : normalQuantile(lower);
  return upper <= 0 ? certainQ : -normalQuantile(upper);
}

function qLimits(multiple: number): ControlLimits {
  return { centerLine: 0, lowerControlLimit: -multiple, upperControlLimit: multiple, standardDeviation: 1 };
}

/** A point; where Q does not exist it has neither value nor limits. */
export function qPoint(index: number, value: number | null, size: number, multiple: number): QPoint {
  return chartPoint(index, value, size, value === null ? null : qLimits(multiple));
}

/** Steps through a series with one memory for each part model. */
export function qSteps<State extends { readonly index: number }, Point>(
  length: number,
  parts: readonly string[] | undefined,
  argument: string,
  start: State,
  step: (state: State, index: number) => { readonly state: State; readonly point: Point },
): { readonly points: readonly Point[]; readonly parts: readonly string[]; readonly basis: QBasis } {
  if (length === 0) throw new StatisticsError('empty', argument, length);
  if (parts !== undefined) requireSameLength(parts.length, length, 'options.parts', argument);
  const states = new Map<string, State>();
  const samples = new Map<string, number>();
  const points: Point[] = [];
  for (let index = 0; index < length; index++) {
    const part = parts?.[index] ?? '';
    const next = step({ ...(states.get(part) ?? start), index }, index);
    states.set(part, next.state);
    samples.set(part, (samples.get(part) ?? 0) + 1);
    points.push(next.point);
  }
  const samplesByPart = [...samples].map(([name, count]) => ({ part: name, samples: count }));
  return { points, parts: parts ?? [], basis: { samplesByPart } };
}

/** A chart of one statistic. */
export function qChart<State extends { readonly index: number }, Basis>(
  length: number,
  parts: readonly string[] | undefined,
  argument: string,
  start: State,
  step: (state: State, index: number) => { readonly state: State; readonly point: QPoint },
  basis: Basis,
): QChart<Basis> {
  const series = qSteps(length, parts, argument, start, step);
  return {
    statistic: 'Q statistic',
    points: series.points,
    parts: series.parts,
    basis: { ...series.basis, ...basis },
    signals: signalsOf(series.points),
  };
}

/** The columns passed in, or new ones. */
export function qColumns(length: number, given: QColumns | undefined, argument: string): QColumns {
  const filled = given ?? { values: new Float64Array(length), beyondLimits: new Uint8Array(length) };
  for (const name of ['values', 'beyondLimits'] as const)
    requireSameLength(filled[name].length, length, `columns.${name}`, argument);
  return filled;
}
