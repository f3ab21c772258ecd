/** Times of day as people write them, read against the plant's clock. */

/**
 * The last moment at which the plant's clock showed this time of day (hh:mm): today's, or yesterday's when
 * today's still lies ahead. null where the text is no time of day.
 */
export function lastTimeOfDay(text: string, now: number, utcOffsetMinutes: number): number | null {
  const match = /^([01]?\d|2[0-3]):([0-5]\d)$/.exec(text.trim());
  if (match === null) return null;
  const offset = utcOffsetMinutes * 60_000;
  const midnight = Math.floor((now + offset) / 86_400_000) * 86_400_000 - offset;
  const time = midnight + (Number(match[1]) * 60 + Number(match[2])) * 60_000;
  return time > now ? time - 86_400_000 : time;
}
