/** The calendar of the demo plant: 42 days from Monday 2025-09-01, Sundays idle, sixteen samples a day. */

/** Local time is UTC+02:00 throughout, so that no shift has 7 or 9 hours. */
export const UTC_OFFSET_MINUTES = 120;
export const SAMPLES_PER_DAY = 16;
export const PRODUCTION_DAYS = 36;
export const SAMPLE_COUNT = SAMPLES_PER_DAY * PRODUCTION_DAYS;
export const LOT_LENGTH = 12;

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
const FIRST_MIDNIGHT = Date.UTC(2025, 8, 1) - UTC_OFFSET_MINUTES * MINUTE;
const DAYS_A_WEEK = 7;
const WORKDAYS_A_WEEK = 6;
const START_OF_DAY = 6 * HOUR;
const FIRST_SAMPLE = START_OF_DAY + 30 * MINUTE;

export type Line = 'R1' | 'R2' | 'P1' | 'A1' | 'A2';
export type Model = 'Q10' | 'Q12' | 'Q12W' | 'DISC';

/** Epoch milliseconds of a plant-local time of day, "hh:mm", on a day counted from 1. */
export function timeOf(day: number, timeOfDay: string): number {
  const [hours, minutes] = timeOfDay.split(':').map(Number);
  return FIRST_MIDNIGHT + (day - 1) * DAY + hours! * HOUR + minutes! * MINUTE;
}

/** Day (from 1) of a production day counted from 0. */
export const dayOfOrdinal = (ordinal: number): number => ordinal + Math.floor(ordinal / WORKDAYS_A_WEEK) + 1;

function ordinalOfDay(day: number): number {
  if (day % DAYS_A_WEEK === 0) throw new RangeError(`Day ${day} is a Sunday: the plant is idle.`);
  return day - 1 - Math.floor((day - 1) / DAYS_A_WEEK);
}

/** Index of sample k (1 to 16) of a day: dNkM of the specification. */
export const indexOf = (day: number, k: number): number => SAMPLES_PER_DAY * ordinalOfDay(day) + k - 1;

export const dayOfIndex = (index: number): number => dayOfOrdinal(Math.floor(index / SAMPLES_PER_DAY));

/** When a sample is due, and is taken. */
export const sampleTime = (index: number): number =>
  FIRST_MIDNIGHT + (dayOfIndex(index) - 1) * DAY + FIRST_SAMPLE + (index % SAMPLES_PER_DAY) * HOUR;

/** Hours that a line has run from day 1, 06:00, to a time; whole days, Sundays left out. */
export function runningHoursUntil(time: number): number {
  const day = Math.floor((time - FIRST_MIDNIGHT) / DAY) + 1;
  if (day % DAYS_A_WEEK === 0) return ordinalOfDay(day - 1) * SAMPLES_PER_DAY + SAMPLES_PER_DAY;
  const hours = (time - FIRST_MIDNIGHT - (day - 1) * DAY - START_OF_DAY) / HOUR;
  return ordinalOfDay(day) * SAMPLES_PER_DAY + Math.min(Math.max(hours, 0), SAMPLES_PER_DAY);
}

/** The part model that a line runs on a day. */
export function modelOn(line: Line, day: number): Model {
  if (line === 'P1') return 'DISC';
  if (day % 3 === 0) return 'Q12';
  return line === 'R1' || line === 'A1' ? 'Q10' : 'Q12W';
}

/** Number of the coil lot that a line works up, from 0. */
export const lotOf = (index: number): number => Math.floor(index / LOT_LENGTH);

/** A coil is known by the line that unwinds it; an assembly cell builds rims of the line that feeds it. */
export function lotName(line: Line, lot: number): string {
  const unwinder = line === 'A1' ? 'R1' : line === 'A2' ? 'R2' : line;
  return `${unwinder}-${String(lot).padStart(2, '0')}`;
}
