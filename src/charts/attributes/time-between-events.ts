import { requireBetween } from '../../checks.ts';
import { StatisticsError, type Unavailable } from '../../errors.ts';
import { chartPoint } from '../chart-point.ts';
import type { ChartPoint, LimitLines } from '../control-chart.ts';
import { smallestSize } from './count-sample.ts';

/** Times up to this leave every limit inside the range of a double. */
export const longestTime = 1e100;
/** A mean time below this is none. */
export const shortestMeanTime = smallestSize;

export function requireTime(time: number, argument: string): void {
  requireBetween(time, 0, longestTime, argument);
}

/** Times in order, null for a missing one; at least one entry. */
export function requireTimes(times: readonly (number | null)[]): void {
  if (times.length === 0) throw new StatisticsError('empty', 'times', times);
  times.forEach((time, index) => {
    if (time !== null) requireTime(time, `times.${index}`);
  });
}

export function timePoint<Limits extends LimitLines>(
  index: number,
  time: number | null,
  limits: Limits,
): ChartPoint<Limits> {
  return time === null ? chartPoint<Limits>(index, null, 0, null) : chartPoint(index, time, 1, limits);
}

/** Flags times; nothing lies below 0, so a missing lower limit never signals. */
export function flagTimes(
  times: Float64Array,
  { lowerControlLimit, upperControlLimit }: LimitLines,
  beyond: Uint8Array,
): void {
  const lower = lowerControlLimit ?? 0;
  const upper = upperControlLimit ?? Infinity;
  for (let index = 0; index < times.length; index++) {
    const time = times[index]!;
    if (!(time >= 0 && time <= longestTime)) requireTime(time, `times.${index}`);
    beyond[index] = time > upper ? 1 : time < lower ? 2 : 0;
  }
}

export const noTime: Unavailable = {
  available: false,
  reason: 'too-few-values',
  message: 'There are too few times between events. Record more, or give the standard.',
};

export const noTimePasses: Unavailable = {
  available: false,
  reason: 'no-variation',
  message: 'The times show no variation to draw limits from. Record them on a finer clock.',
};
