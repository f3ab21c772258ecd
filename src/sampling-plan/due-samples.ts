import { StatisticsError } from '../errors.ts';
import {
  checkCalendar,
  checkTime,
  dayLength,
  localDay,
  midnight,
  type RunningCalendar,
  runsOn,
  timeOfDay,
} from './running-hours.ts';

export type DueState = 'done' | 'due' | 'late' | 'missed' | 'declared missed' | 'upcoming';

export interface DueSamplesInput extends RunningCalendar {
  /** Local time of the first sample of a day, hh:mm. */
  readonly firstSampleAt: string;
  readonly intervalMinutes: number;
  /** The period, from included, to not. */
  readonly from: number;
  readonly to: number;
  readonly now: number;
  /** When samples were taken, in any order; give those half an interval around the period too. */
  readonly takenAt: readonly number[];
  /** Slots that a person declared missed, by their dueAt. */
  readonly declaredMissed: readonly number[];
}

/** One planned sample. */
export interface DueSample {
  readonly dueAt: number;
  readonly state: DueState;
  /** Index into `takenAt` of the sample that fills the slot. */
  readonly takenIndex: number | null;
}

/** More slots than any screen or count needs: a period or an interval given in the wrong unit. */
const mostSlots = 1_000_000;

/**
 * The planned samples of a period and the state of each. Slots stand at the first time of each running day and
 * every interval after it, while the line is planned to run and no stoppage is recorded; with an interval longer
 * than a day, on the days on which a new interval begins, counted from a Monday.
 *
 * A sample within half an interval fills a slot, nearest pairs first and the earlier slot where two are equally
 * near; each sample fills one slot. An empty slot is due from its time, late a quarter of the interval later, and
 * missed when the next slot comes or a whole interval has passed.
 *
 * Times in epoch milliseconds.
 *
 * @throws StatisticsError `not-finite`, `out-of-range` (interval, or over a million slots), `limits-reversed`.
 *
 * Source: house rule; a sampling plan as in ISO 7870-2 (subgroups at regular intervals).
 *
 * @example
 * dueSamples({ firstSampleAt: '06:30', intervalMinutes: 60, utcOffsetMinutes: 0,
 *   runningHours: { start: '06:00', end: '22:00', weekdays: [1] }, from: Date.UTC(2025, 8, 1), to: Date.UTC(2025, 8, 2),
 *   now: Date.UTC(2025, 8, 1, 7, 40), takenAt: [Date.UTC(2025, 8, 1, 6, 33)], declaredMissed: [] });
 * // [0].state 'done', [1].state 'due'
 */
export function dueSamples(input: DueSamplesInput): readonly DueSample[] {
  const { intervalMinutes, from, to, now, takenAt } = input;
  checkCalendar(input);
  checkTime(from, 'from');
  checkTime(to, 'to');
  checkTime(now, 'now');
  takenAt.forEach((time, index) => {
    checkTime(time, `takenAt.${index}`);
  });
  if (!(intervalMinutes > 0 && intervalMinutes < Number.POSITIVE_INFINITY))
    throw new StatisticsError(
      'out-of-range',
      'intervalMinutes',
      intervalMinutes,
      'The interval must be greater than 0.',
    );
  if (to < from)
    throw new StatisticsError('limits-reversed', 'to', to, 'The period must not end before it begins.');
  const interval = intervalMinutes * 60_000;
  const margin = Math.max(interval, dayLength);
  if ((to - from + 2 * margin) / Math.min(interval, dayLength) > mostSlots)
    throw new StatisticsError(
      'out-of-range',
      'to',
      to,
      'The period holds over a million planned samples; ask for a shorter one.',
    );

  // Slots beyond the ends take part, so that a sample near an end fills the slot it belongs to.
  const slots = plannedSlots(from - margin, to + margin, interval, input);
  const filledBy = fillSlots(slots, takenAt, interval / 2);
  const declared = new Set(input.declaredMissed);
  const result: DueSample[] = [];
  slots.forEach((dueAt, index) => {
    if (dueAt < from || dueAt >= to) return;
    const takenIndex = filledBy.get(index) ?? null;
    const missedAt = Math.min(slots[index + 1] ?? Number.POSITIVE_INFINITY, dueAt + interval);
    let state: DueState;
    if (takenIndex !== null) state = 'done';
    else if (declared.has(dueAt)) state = 'declared missed';
    else if (now < dueAt) state = 'upcoming';
    else if (now >= missedAt) state = 'missed';
    else state = now >= dueAt + interval / 4 ? 'late' : 'due';
    result.push({ dueAt, state, takenIndex });
  });
  return result;
}

function plannedSlots(from: number, to: number, interval: number, input: DueSamplesInput): number[] {
  const { runningHours, utcOffsetMinutes, stoppages = [] } = input;
  const first = timeOfDay(input.firstSampleAt, 'firstSampleAt');
  const start = timeOfDay(runningHours.start, 'runningHours.start');
  const end = timeOfDay(runningHours.end, 'runningHours.end');
  const slots: number[] = [];
  for (let day = localDay(from, utcOffsetMinutes); midnight(day, utcOffsetMinutes) < to; day++) {
    const beginsInterval =
      Math.floor((day * dayLength) / interval) !== Math.floor(((day - 1) * dayLength) / interval);
    if (!runsOn(day, runningHours) || !beginsInterval) continue;
    for (let step = 0; first + step * interval < end; step++) {
      const sinceMidnight = first + step * interval;
      const slot = midnight(day, utcOffsetMinutes) + sinceMidnight;
      const standing = stoppages.some((stop) => slot >= stop.from && (stop.to === null || slot < stop.to));
      if (sinceMidnight >= start && slot >= from && slot < to && !standing) slots.push(slot);
    }
  }
  return slots;
}

/** Index of slot → index of the sample that fills it. */
function fillSlots(slots: readonly number[], takenAt: readonly number[], reach: number): Map<number, number> {
  const pairs: { slot: number; taken: number; distance: number }[] = [];
  takenAt.forEach((time, taken) => {
    for (
      let slot = firstAtLeast(slots, time - reach);
      slot < slots.length && slots[slot]! <= time + reach;
      slot++
    )
      pairs.push({ slot, taken, distance: Math.abs(slots[slot]! - time) });
  });
  pairs.sort((a, b) => a.distance - b.distance || a.slot - b.slot || a.taken - b.taken);
  const filledBy = new Map<number, number>();
  const used = new Set<number>();
  for (const { slot, taken } of pairs) {
    if (filledBy.has(slot) || used.has(taken)) continue;
    filledBy.set(slot, taken);
    used.add(taken);
  }
  return filledBy;
}

/** Index of the first slot at or after `time`, slots in ascending order. */
function firstAtLeast(slots: readonly number[], time: number): number {
  let low = 0;
  let high = slots.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (slots[middle]! < time) low = middle + 1;
    else high = middle;
  }
  return low;
}
