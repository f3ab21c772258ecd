import type { EventKind, PlantEvent } from '../../api/schemas.ts';
import type { VisibleRange } from '../charts/visible-range.ts';

/** Events that share one mark, because they are too close to be pressed one by one. */
export interface EventMark {
  /** Distance from the left edge of the plot, in pixels. */
  readonly left: number;
  /** Point that follows the first of the events. */
  readonly index: number;
  readonly events: readonly PlantEvent[];
}

/** A finger or a pointer needs this much, and a mark with a count is wider. */
const CLOSEST = 46;

/** What is rare and changes the process stands for a crowd of events; what is routine does not. */
const mostTelling: readonly EventKind[] = [
  'tool change',
  'regrind',
  'adjustment',
  'stoppage',
  'changeover',
  'coil',
  'gauge check',
  'note',
];

/** The kind that stands for a mark. */
export const tellingKind = (events: readonly PlantEvent[]): EventKind =>
  mostTelling.find((kind) => events.some((event) => event.kind === kind)) ?? 'note';

/** Marks on the time line: each event stands before the first sample that was taken after it. */
export function eventMarks(
  events: readonly PlantEvent[],
  times: readonly number[],
  range: VisibleRange,
  width: number,
): EventMark[] {
  const perPoint = width / (range.last - range.first + 1);
  const marks: { left: number; index: number; events: PlantEvent[] }[] = [];
  for (const event of events) {
    const index = firstAtOrAfter(times, Date.parse(event.at));
    const left = (index - range.first) * perPoint;
    if (left < 0 || left > width || index > range.last + 1) continue;
    const previous = marks.at(-1);
    if (previous !== undefined && left - previous.left < CLOSEST) previous.events.push(event);
    else marks.push({ left, index: Math.min(index, times.length - 1), events: [event] });
  }
  return marks;
}

/** Index of the first time, of ascending ones, that is not before a moment. */
export function firstAtOrAfter(times: readonly number[], time: number): number {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((times[middle] as number) < time) low = middle + 1;
    else high = middle;
  }
  return low;
}
