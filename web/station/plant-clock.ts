/** Times of day as people write them, read against the plant's clock. */
import { formatDate, formatDuration, formatTime } from '../format.ts';

const DAY = 86_400_000;
const FRESH = 2 * 3_600_000;

/**
 * The last moment at which the plant's clock showed this time of day (hh:mm): today's, or yesterday's when
 * today's still lies ahead. null where the text is no time of day.
 */
export function lastTimeOfDay(text: string, now: number, utcOffsetMinutes: number): number | null {
  const match = /^([01]?\d|2[0-3]):([0-5]\d)$/.exec(text.trim());
  if (match === null) return null;
  const offset = utcOffsetMinutes * 60_000;
  const midnight = Math.floor((now + offset) / DAY) * DAY - offset;
  const time = midnight + (Number(match[1]) * 60 + Number(match[2])) * 60_000;
  return time > now ? time - DAY : time;
}

/**
 * Today's time of day still lies ahead and is nearer than yesterday's: more likely a slip than yesterday.
 * 23:50 written at 00:20 is nearer behind, as is the start of a night shift in the morning.
 */
export const isLikelySlip = (time: number, now: number, utcOffsetMinutes: number): boolean =>
  dayWord(time, now, utcOffsetMinutes) === 'yesterday' && now - time > DAY / 2;

const dayWord = (time: number, now: number, utcOffsetMinutes: number): 'today' | 'yesterday' =>
  formatDate(time, utcOffsetMinutes) === formatDate(now, utcOffsetMinutes) ? 'today' : 'yesterday';

/** Which day a written time of day was taken for, where that is not plain: not today, or more than two hours ago. */
export function dayInWords(text: string, now: number, utcOffsetMinutes: number): string | null {
  const time = lastTimeOfDay(text, now, utcOffsetMinutes);
  if (time === null) return null;
  const day = dayWord(time, now, utcOffsetMinutes);
  if (day === 'today' && now - time <= FRESH) return null;
  return `${day}, ${formatDate(time, utcOffsetMinutes)}, ${formatDuration(now - time)} ago`;
}

/** What to ask before a time of day that is likely a slip is taken for yesterday's. */
export const slipQuestion = (time: number, now: number, utcOffsetMinutes: number): string =>
  `${formatTime(time, utcOffsetMinutes)} today is still to come. Was it yesterday, ${formatDuration(now - time)} ago, or did you mean another time?`;
