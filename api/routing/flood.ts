/**
 * Alarm floods after IEC 62682 (from memory; confirm edition and clause): a flood begins when more than 10 alarms
 * come to one person within 10 minutes, and ends when fewer than 5 do.
 */
export const FLOOD_WINDOW = 10 * 60_000;
const BEGINS_ABOVE = 10;
const ENDS_BELOW = 5;

export interface FloodPeriod {
  /** When the first alarm of it came. */
  readonly from: number;
  /** When fewer than 5 had come within the last 10 minutes; null: not yet at `now`. */
  readonly to: number | null;
  /** Alarms from its beginning to its end. */
  readonly alarms: number;
}

/** @param times When alarms came to one person, in any order. */
export function floodPeriods(times: readonly number[], now: number): FloodPeriod[] {
  const sorted = times.filter((time) => time <= now).sort((a, b) => a - b);
  const periods: FloodPeriod[] = [];
  let oldest = 0;
  let first: number | null = null;
  for (const [index, time] of sorted.entries()) {
    // The window holds what came less than 10 minutes ago.
    while (sorted[oldest]! <= time - FLOOD_WINDOW) {
      oldest += 1;
      if (first === null || index - oldest >= ENDS_BELOW) continue;
      const to = sorted[oldest - 1]! + FLOOD_WINDOW;
      periods.push({ from: sorted[first]!, to, alarms: index - first });
      first = null;
    }
    if (first === null && index + 1 - oldest > BEGINS_ABOVE) first = oldest;
  }
  if (first !== null) {
    // The fifth newest leaves the window: then fewer than 5 are in it.
    const ends = sorted[sorted.length - ENDS_BELOW]! + FLOOD_WINDOW;
    periods.push({ from: sorted[first]!, to: ends <= now ? ends : null, alarms: sorted.length - first });
  }
  return periods;
}
