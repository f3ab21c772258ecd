import { StatisticsError } from '../errors.ts';
import {
  checkCalendar,
  checkTime,
  type RunningCalendar,
  runningTime,
  type Stoppage,
} from '../sampling-plan/running-hours.ts';

export interface SuspectWindowInput extends RunningCalendar {
  /** When the last sample verified good was taken; null: none was. */
  readonly lastGoodAt: number | null;
  /**
   * Where suspicion begins at the latest, whatever was verified: the estimated change, or the beginning of
   * records. Required where lastGoodAt is null. The earlier of the two counts.
   */
  readonly firstSuspectAt?: number | null;
  readonly until: number;
  readonly partsPerHour: number;
  readonly stoppages: readonly Stoppage[];
  /** Coil lots with the time from which each was used, in any order. */
  readonly lots: readonly { readonly from: number; readonly lot: string }[];
}

/** What has to be fenced off. Times in epoch milliseconds. */
export interface SuspectWindow {
  readonly from: number;
  readonly to: number;
  readonly runningHours: number;
  /** Line rate times running time, to the nearest whole part. */
  readonly suspectParts: number;
  /** Lots from which parts were made in the window, oldest first, each once. */
  readonly lots: readonly string[];
  readonly sentence: string;
}

const hour = 3_600_000;

/**
 * Which parts are suspect: everything the line made since the last sample that was verified good. The earlier of
 * that sample and the estimated change counts, because an interval for a change-point covers less often than it
 * says. People confirm the count on the floor; this is where they start looking.
 *
 * Times in epoch milliseconds, rate in parts per hour of running. Planned hours are local at a fixed distance from
 * UTC; stoppages count once where they overlap. A lot counts when parts were made from it inside the window.
 *
 * @throws StatisticsError `not-finite`, `out-of-range` (rate), `limits-reversed` (`until` before the start),
 *         `empty` (neither lastGoodAt nor firstSuspectAt).
 *
 * Source: house rule after ISO 9001:2015, 8.7 (control of nonconforming outputs); arithmetic only.
 *
 * @example
 * suspectWindow({ lastGoodAt: Date.UTC(2025, 9, 8, 14, 30), until: Date.UTC(2025, 9, 8, 18, 30),
 *   runningHours: { start: '06:00', end: '22:00', weekdays: [1, 2, 3, 4, 5, 6] }, utcOffsetMinutes: 0,
 *   partsPerHour: 310, stoppages: [], lots: [] });
 * // suspectParts 1240, runningHours 4
 */
export function suspectWindow(input: SuspectWindowInput): SuspectWindow {
  const { lastGoodAt, firstSuspectAt = null, until, partsPerHour, utcOffsetMinutes, lots } = input;
  checkCalendar(input);
  checkTime(until, 'until');
  if (lastGoodAt !== null) checkTime(lastGoodAt, 'lastGoodAt');
  if (firstSuspectAt !== null) checkTime(firstSuspectAt, 'firstSuspectAt');
  lots.forEach((lot, index) => {
    checkTime(lot.from, `lots.${index}.from`);
  });
  if (!(partsPerHour > 0 && partsPerHour < Number.POSITIVE_INFINITY))
    throw new StatisticsError(
      'out-of-range',
      'partsPerHour',
      partsPerHour,
      'The line rate must be greater than 0.',
    );
  if (lastGoodAt === null && firstSuspectAt === null)
    throw new StatisticsError(
      'empty',
      'firstSuspectAt',
      firstSuspectAt,
      'Where no sample was verified good, give the beginning of records.',
    );
  const from = Math.min(lastGoodAt ?? Number.POSITIVE_INFINITY, firstSuspectAt ?? Number.POSITIVE_INFINITY);
  if (until < from)
    throw new StatisticsError('limits-reversed', 'until', until, 'The window must not end before it begins.');

  const milliseconds = runningTime(from, until, input);
  const runningHours = milliseconds / hour;
  const suspectParts = Math.round((partsPerHour * milliseconds) / hour);
  const suspectLots = lotsBetween(from, until, input);
  const since = lastGoodAt === from ? 'the last sample verified good' : 'no sample before was verified good';
  const made = `made from ${localTime(from, utcOffsetMinutes)} (${since}) to ${localTime(until, utcOffsetMinutes)}`;
  // Nobody knows how far back it goes: the number is where the counting starts.
  const atLeast = lastGoodAt === null ? 'At least ' : '';
  const count = `${atLeast}${suspectParts === 1 ? '1 part' : `${grouped(suspectParts)} parts`}`;
  const earlier =
    lastGoodAt === null ? ' Parts made before that were never verified either; count them in.' : '';
  const running = `${trimmed(runningHours)} h of running at ${trimmed(partsPerHour)} an hour`;
  const coils =
    suspectLots.length === 0
      ? ''
      : `, coil ${suspectLots.length === 1 ? 'lot' : 'lots'} ${listed(suspectLots)}`;
  const sentence =
    milliseconds === 0
      ? `No parts are suspect: the line did not run from ${localTime(from, utcOffsetMinutes)} to ${localTime(until, utcOffsetMinutes)}.`
      : `${count} ${made} ${suspectParts === 1 ? 'is' : 'are'} suspect: ${running}${coils}.${earlier}`;
  return { from, to: until, runningHours, suspectParts, lots: suspectLots, sentence };
}

function lotsBetween(from: number, until: number, input: SuspectWindowInput): string[] {
  const inOrder = [...input.lots].sort((a, b) => a.from - b.from);
  const found = new Set<string>();
  inOrder.forEach((lot, index) => {
    const start = Math.max(from, lot.from);
    const end = Math.min(until, inOrder[index + 1]?.from ?? until);
    if (start < end && runningTime(start, end, input) > 0) found.add(lot.lot);
  });
  return [...found];
}

function localTime(time: number, utcOffsetMinutes: number): string {
  const local = new Date(time + utcOffsetMinutes * 60_000);
  if (Number.isNaN(local.getTime()))
    throw new StatisticsError('out-of-range', 'until', time, 'The time lies beyond the calendar.');
  return local.toISOString().slice(0, 16).replace('T', ' ');
}

/** A narrow space between groups: a comma or a point would be a decimal mark to half of the readers. */
const grouped = (whole: number) => String(whole).replace(/\B(?=(\d{3})+$)/g, '\u202f');
const trimmed = (value: number) => String(Number(value.toFixed(2)));
const listed = (names: readonly string[]) =>
  names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
