import { requireBetween } from '../checks.ts';
import { StatisticsError } from '../errors.ts';

/** When a line is planned to run, in local time, the same hours on each of its weekdays. */
export interface RunningHours {
  /** hh:mm */
  readonly start: string;
  /** hh:mm, later than `start`; 24:00 is the end of the day. */
  readonly end: string;
  /** ISO weekdays, 1 = Monday. */
  readonly weekdays: readonly number[];
}

/** A time in which the line stood although it was planned to run. Epoch milliseconds; `to` null: it still stands. */
export interface Stoppage {
  readonly from: number;
  readonly to: number | null;
}

export interface RunningCalendar {
  readonly runningHours: RunningHours;
  /** Local time minus UTC. */
  readonly utcOffsetMinutes: number;
  readonly stoppages?: readonly Stoppage[];
}

const minute = 60_000;
export const dayLength = 1440 * minute;

/** Milliseconds from midnight to a time of day written hh:mm. */
export function timeOfDay(text: string, argument: string): number {
  const match = /^([01]\d|2[0-4]):([0-5]\d)$/.exec(text);
  const milliseconds = match ? (Number(match[1]) * 60 + Number(match[2])) * minute : Number.NaN;
  if (!(milliseconds <= dayLength))
    throw new StatisticsError(
      'out-of-range',
      argument,
      text,
      'Write a time of day as hh:mm, 00:00 to 24:00.',
    );
  return milliseconds;
}

/** Refuses a calendar that is none. */
export function checkCalendar({ runningHours, utcOffsetMinutes, stoppages = [] }: RunningCalendar): void {
  const start = timeOfDay(runningHours.start, 'runningHours.start');
  if (!(timeOfDay(runningHours.end, 'runningHours.end') > start))
    throw new StatisticsError(
      'limits-reversed',
      'runningHours.end',
      runningHours.end,
      'The end must be later than the start.',
    );
  runningHours.weekdays.forEach((weekday, index) => {
    if (!Number.isInteger(weekday) || weekday < 1 || weekday > 7)
      throw new StatisticsError(
        'out-of-range',
        `runningHours.weekdays.${index}`,
        weekday,
        'A weekday is a whole number from 1 (Monday) to 7.',
      );
  });
  requireBetween(utcOffsetMinutes, -1440, 1440, 'utcOffsetMinutes');
  stoppages.forEach((stoppage, index) => {
    checkTime(stoppage.from, `stoppages.${index}.from`);
    if (stoppage.to === null) return;
    checkTime(stoppage.to, `stoppages.${index}.to`);
    if (stoppage.to < stoppage.from)
      throw new StatisticsError(
        'limits-reversed',
        `stoppages.${index}.to`,
        stoppage.to,
        'A stoppage must not end before it begins.',
      );
  });
}

/** As far from 1970 as a date can be: ECMAScript Language Specification, time values and time range. */
export const farthestTime = 8.64e15;

/** A time in epoch milliseconds. Beyond the dates that exist, whole days can no longer be counted. */
export function checkTime(time: number, argument: string): void {
  if (Math.abs(time) > farthestTime && Number.isFinite(time))
    throw new StatisticsError('out-of-range', argument, time, 'Give a time in epoch milliseconds.');
  if (!Number.isFinite(time))
    throw new StatisticsError(
      'not-finite',
      argument,
      time,
      'Give a finite number, times in epoch milliseconds.',
    );
}

/** Days since Monday 1969-12-29, local. A multiple of seven is a Monday. */
export function localDay(time: number, utcOffsetMinutes: number): number {
  return Math.floor((time + utcOffsetMinutes * minute) / dayLength) + 3;
}

/** Epoch milliseconds of local midnight of a day numbered as localDay does. */
export function midnight(day: number, utcOffsetMinutes: number): number {
  return (day - 3) * dayLength - utcOffsetMinutes * minute;
}

export function runsOn(day: number, runningHours: RunningHours): boolean {
  return runningHours.weekdays.includes((((day % 7) + 7) % 7) + 1);
}

/** Stoppages without overlap, oldest first, cut to what lies before `until`. */
function merged(stoppages: readonly Stoppage[], until: number): { from: number; to: number }[] {
  const result: { from: number; to: number }[] = [];
  for (const { from, to } of [...stoppages].sort((a, b) => a.from - b.from)) {
    const end = Math.min(to ?? until, until);
    const last = result.at(-1);
    if (last && from <= last.to) last.to = Math.max(last.to, end);
    else if (from < end) result.push({ from, to: end });
  }
  return result;
}

/** Planned running time from a fixed origin to `time`. Differences of it are exact and additive, however long. */
function plannedRunningTime(time: number, { runningHours, utcOffsetMinutes }: RunningCalendar): number {
  const start = timeOfDay(runningHours.start, 'runningHours.start');
  const length = timeOfDay(runningHours.end, 'runningHours.end') - start;
  const weekdays = [...new Set(runningHours.weekdays)];
  const day = localDay(time, utcOffsetMinutes);
  const weeks = Math.floor(day / 7);
  const daysBefore =
    weeks * weekdays.length + weekdays.filter((weekday) => weekday <= day - weeks * 7).length;
  const sinceStart = time - midnight(day, utcOffsetMinutes) - start;
  const today = runsOn(day, runningHours) ? Math.min(Math.max(sinceStart, 0), length) : 0;
  return daysBefore * length + today;
}

/**
 * Time for which a line ran between two times, in milliseconds: planned hours less stoppages, which count once
 * where they overlap.
 */
export function runningTime(from: number, to: number, calendar: RunningCalendar): number {
  const planned = (start: number, end: number) =>
    plannedRunningTime(end, calendar) - plannedRunningTime(start, calendar);
  let time = planned(from, to);
  for (const stoppage of merged(calendar.stoppages ?? [], to)) {
    if (stoppage.to > from) time -= planned(Math.max(stoppage.from, from), stoppage.to);
  }
  return time;
}
