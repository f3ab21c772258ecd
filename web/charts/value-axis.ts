import type { ChartSeries } from './control-chart-configuration.ts';
import type { VisibleRange } from './visible-range.ts';

/** The part of the value axis that a chart shows, and the points that lie beyond it. */
interface ValueAxis {
  readonly min: number;
  readonly max: number;
  /** Indices of the points that are marked at the edge, because the axis does not reach them. */
  readonly offChart: readonly number[];
  /** Where their marks stand. */
  readonly lowEdge: number;
  readonly highEdge: number;
}

/** Points between these distances from the quartiles, in interquartile ranges, make the scale with the limits. */
const FENCE = 3;
/** A point beyond the fences still stretches the axis by this much of limits and fenced points together. */
const STRETCH = 1;
/** As many values, evenly taken, tell the quartiles well enough for a scale. */
const VALUES_FOR_QUARTILES = 2000;
const ROOM = 0.1;

/**
 * Scales the axis to the control limits and to the bulk of the points, so that one absurd value does not press all
 * limits into one line. The bulk is what lies inside the outer fences: Tukey, Exploratory Data Analysis (1977).
 * Points up to once the height of both beyond them stay in the picture; that they do is our own rule.
 */
export function valueAxis(series: ChartSeries, { first, last }: VisibleRange): ValueAxis {
  let min = Number.POSITIVE_INFINITY;
  let max = Number.NEGATIVE_INFINITY;
  const include = (value: number | null | undefined): void => {
    if (value === null || value === undefined) return;
    if (value < min) min = value;
    if (value > max) max = value;
  };
  for (let index = first; index <= last; index++) {
    const limits = series.limits[index];
    if (limits === null || limits === undefined) continue;
    include(limits.lowerControlLimit);
    include(limits.centerLine);
    include(limits.upperControlLimit);
  }
  const [lowFence, highFence] = outerFences(series.values, { first, last });
  for (let index = first; index <= last; index++) {
    const value = series.values[index] ?? null;
    if (value !== null && value >= lowFence && value <= highFence) include(value);
  }
  if (min > max) return { min: 0, max: 1, offChart: [], lowEdge: 0, highEdge: 1 };

  // Where nothing varies there is no scale to be spoiled.
  const reach = max > min ? STRETCH * (max - min) : Number.POSITIVE_INFINITY;
  const lowest = min - reach;
  const highest = max + reach;
  const offChart: number[] = [];
  let below = false;
  let above = false;
  for (let index = first; index <= last; index++) {
    const value = series.values[index] ?? null;
    if (value === null) continue;
    if (value >= lowest && value <= highest) include(value);
    else offChart.push(index);
    below ||= value < lowest;
    above ||= value > highest;
  }
  const room = max > min ? (max - min) * ROOM : Math.max(Math.abs(max) * 0.01, 1e-6);
  // Values that begin near 0, as ranges do, are seen from 0; none that cannot fall below it gets room there.
  const floor = min >= 0 && !below ? (min < max - min ? 0 : Math.max(0, min - room)) : min - room;
  return {
    min: floor,
    max: max + room,
    offChart,
    lowEdge: below ? min - room / 2 : floor,
    highEdge: above ? max + room / 2 : max + room,
  };
}

function outerFences(
  values: ChartSeries['values'],
  { first, last }: VisibleRange,
): readonly [low: number, high: number] {
  const step = Math.max(1, Math.floor((last - first + 1) / VALUES_FOR_QUARTILES));
  const taken: number[] = [];
  for (let index = first; index <= last; index += step) {
    const value = values[index] ?? null;
    if (value !== null) taken.push(value);
  }
  if (taken.length === 0) return [0, 0];
  const sorted = Float64Array.from(taken).sort();
  // The nearest value below and above: of four points each quartile is still one of them.
  const lower = sorted[Math.floor((sorted.length - 1) * 0.25)]!;
  const upper = sorted[Math.ceil((sorted.length - 1) * 0.75)]!;
  const reach = FENCE * (upper - lower);
  return [lower - reach, upper + reach];
}
