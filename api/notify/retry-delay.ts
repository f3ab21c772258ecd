const FIRST_MILLISECONDS = 2_000;
const LONGEST_MILLISECONDS = 15 * 60_000;

/**
 * How long to wait after so many failed attempts: doubled each time, and anywhere between half and all of it, so that
 * what failed together does not come back together. `draw` is from 0 to 1.
 */
export function retryDelay(failures: number, draw: number): number {
  const whole = Math.min(LONGEST_MILLISECONDS, FIRST_MILLISECONDS * 2 ** Math.min(failures - 1, 30));
  return Math.round(whole * (0.5 + draw / 2));
}
