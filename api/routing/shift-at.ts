import type { Shift } from '../schemas.ts';

const MINUTE = 60_000;
const DAY = 24 * 60 * MINUTE;

const minutesOf = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3));

/** Does the shift work at this time? One whose end is not later than its start ends on the next day. */
export function isInShift({ start, end, weekdays }: Shift, at: number, utcOffsetMinutes: number): boolean {
  const local = at + utcOffsetMinutes * MINUTE;
  const day = Math.floor(local / DAY);
  const minute = Math.floor((local - day * DAY) / MINUTE);
  // 1970-01-01 was a Thursday.
  const beginsOn = (date: number): boolean => weekdays.includes(((((date + 3) % 7) + 7) % 7) + 1);
  const [from, to] = [minutesOf(start), minutesOf(end)];
  if (to > from) return beginsOn(day) && minute >= from && minute < to;
  return (beginsOn(day) && minute >= from) || (beginsOn(day - 1) && minute < to);
}
