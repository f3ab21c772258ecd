import { StatisticsError } from '../errors.ts';
import {
  checkCalendar,
  checkTime,
  dayLength,
  farthestTime,
  localDay,
  midnight,
  type RunningCalendar,
  runsOn,
  timeOfDay,
} from './running-hours.ts';

export type DueState = 'done' | 'due' | 'late' | 'missed' | 'declared missed' | 'upcoming';

/** When samples are taken by one plan. */
export interface PlannedTimes {
  /** Local time of the first sample of a day, hh:mm. */
  readonly firstSampleAt: string;
  readonly intervalMinutes: number;
  /** When the plan was made: it asks for nothing before. null: it always was. */
  readonly since: number | null;
}

export interface DueSamplesInput extends RunningCalendar {
  /** The plans of a stream, each in force until the next one begins. */
  readonly plans: readonly PlannedTimes[];
  /** The period, from included, to not. */
  readonly from: number;
  readonly to: number;
  readonly now: number;
  /** When samples were taken, in any order; give those one and a half intervals around the period too. */
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

/** A slot is open until so much of its interval has passed; a sample taken later is an early one of the next slot. */
const openFor = 3 / 4;
/** A sample is early by at most so much of the interval. */
const earlyBy = 1 / 2;

interface Slot {
  readonly dueAt: number;
  readonly interval: number;
}

/**
 * The planned samples of a period and the state of each. Slots stand at the first time of each running day and
 * every interval after it, while the line is planned to run and no stoppage is recorded; with an interval longer
 * than a day, on the days on which a new interval begins, counted from a Monday. A plan asks for nothing before it
 * was made.
 *
 * An empty slot is due from its time, late a quarter of the interval later, and missed when three quarters have
 * passed or the next slot comes. A sample counts for the slot that is open when it is taken, so whoever measures
 * what is shown as late fills that; one taken up to half an interval early counts for a slot to come where the open
 * one is filled. Where several samples could fill a slot, the one that is least early or late for it does, an early
 * minute weighing as much as three late ones; each sample fills one slot.
 *
 * Times in epoch milliseconds.
 *
 * @throws StatisticsError `not-finite`, `out-of-range` (interval, or over a million slots), `limits-reversed`.
 *
 * Source: house rule; a sampling plan as in ISO 7870-2 (subgroups at regular intervals).
 *
 * @example
 * dueSamples({ plans: [{ firstSampleAt: '06:30', intervalMinutes: 60, since: null }], utcOffsetMinutes: 0,
 *   runningHours: { start: '06:00', end: '22:00', weekdays: [1] }, from: Date.UTC(2025, 8, 1), to: Date.UTC(2025, 8, 2),
 *   now: Date.UTC(2025, 8, 1, 7, 40), takenAt: [Date.UTC(2025, 8, 1, 6, 33)], declaredMissed: [] });
 * // [0].state 'done', [1].state 'due'
 */
export function dueSamples(input: DueSamplesInput): readonly DueSample[] {
  const { plans, from, to, now, takenAt } = input;
  checkCalendar(input);
  checkTime(from, 'from');
  checkTime(to, 'to');
  checkTime(now, 'now');
  takenAt.forEach((time, index) => {
    checkTime(time, `takenAt.${index}`);
  });
  checkPlans(plans);
  if (to < from)
    throw new StatisticsError('limits-reversed', 'to', to, 'The period must not end before it begins.');
  const intervals = plans.map(({ intervalMinutes }) => intervalMinutes * 60_000);
  const margin = Math.max(dayLength, ...intervals);
  if ((to - from + 2 * margin) / Math.min(dayLength, ...intervals) > mostSlots)
    throw new StatisticsError(
      'out-of-range',
      'to',
      to,
      'The period holds over a million planned samples; ask for a shorter one.',
    );

  // Slots beyond the ends take part, so that a sample near an end fills the slot it belongs to.
  const slots = plans.flatMap((plan, index) => {
    const begin = Math.max(from - margin, plan.since ?? from - margin);
    const end = Math.min(to + margin, plans[index + 1]?.since ?? to + margin);
    return begin < end ? plannedSlots(begin, end, index, input) : [];
  });
  const filledBy = fillSlots(slots, takenAt);
  const declared = new Set(input.declaredMissed);
  const result: DueSample[] = [];
  slots.forEach(({ dueAt, interval }, index) => {
    if (dueAt < from || dueAt >= to) return;
    const takenIndex = filledBy.get(index) ?? null;
    const missedAt = Math.min(
      slots[index + 1]?.dueAt ?? Number.POSITIVE_INFINITY,
      dueAt + openFor * interval,
    );
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

function checkPlans(plans: readonly PlannedTimes[]): void {
  plans.forEach(({ firstSampleAt, intervalMinutes, since }, index) => {
    timeOfDay(firstSampleAt, `plans.${index}.firstSampleAt`);
    if (!(intervalMinutes > 0 && intervalMinutes < Number.POSITIVE_INFINITY))
      throw new StatisticsError(
        'out-of-range',
        `plans.${index}.intervalMinutes`,
        intervalMinutes,
        'The interval must be greater than 0.',
      );
    if (since !== null) checkTime(since, `plans.${index}.since`);
    if (index > 0 && (since ?? Number.NEGATIVE_INFINITY) < (plans[index - 1]!.since ?? -farthestTime))
      throw new StatisticsError(
        'limits-reversed',
        `plans.${index}.since`,
        since,
        'Give the plans in the order in which they were made, and say of each but the first when that was.',
      );
  });
}

function plannedSlots(from: number, to: number, planIndex: number, input: DueSamplesInput): Slot[] {
  const { runningHours, utcOffsetMinutes, stoppages = [] } = input;
  const plan = input.plans[planIndex]!;
  const interval = plan.intervalMinutes * 60_000;
  const first = timeOfDay(plan.firstSampleAt, `plans.${planIndex}.firstSampleAt`);
  const start = timeOfDay(runningHours.start, 'runningHours.start');
  const end = timeOfDay(runningHours.end, 'runningHours.end');
  const slots: Slot[] = [];
  for (let day = localDay(from, utcOffsetMinutes); midnight(day, utcOffsetMinutes) < to; day++) {
    const beginsInterval =
      Math.floor((day * dayLength) / interval) !== Math.floor(((day - 1) * dayLength) / interval);
    if (!runsOn(day, runningHours) || !beginsInterval) continue;
    for (let step = 0; first + step * interval < end; step++) {
      const sinceMidnight = first + step * interval;
      const dueAt = midnight(day, utcOffsetMinutes) + sinceMidnight;
      const standing = stoppages.some((stop) => dueAt >= stop.from && (stop.to === null || dueAt < stop.to));
      if (sinceMidnight >= start && dueAt >= from && dueAt < to && !standing) slots.push({ dueAt, interval });
    }
  }
  return slots;
}

/** Index of slot → index of the sample that fills it. */
function fillSlots(slots: readonly Slot[], takenAt: readonly number[]): Map<number, number> {
  const longest = slots.reduce((most, { interval }) => Math.max(most, interval), 0);
  const pairs: { slot: number; taken: number; cost: number }[] = [];
  takenAt.forEach((time, taken) => {
    const first = firstAtLeast(slots, time - openFor * longest);
    for (let slot = first; slot < slots.length; slot++) {
      const { dueAt, interval } = slots[slot]!;
      if (dueAt > time + earlyBy * longest) break;
      const late = (time - dueAt) / interval;
      if (late > openFor || -late > earlyBy) continue;
      pairs.push({ slot, taken, cost: late >= 0 ? late / openFor : -late / (1 - openFor) });
    }
  });
  pairs.sort((a, b) => a.cost - b.cost || a.slot - b.slot || a.taken - b.taken);
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
function firstAtLeast(slots: readonly Slot[], time: number): number {
  let low = 0;
  let high = slots.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (slots[middle]!.dueAt < time) low = middle + 1;
    else high = middle;
  }
  return low;
}
