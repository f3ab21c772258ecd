import { pino } from 'pino';
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { watchClock } from '../../api/clock-watch.ts';

const HOUR = 3_600_000;
let steady = 0;
let wall = 0;
let said: { msg: string; minutes: number }[] = [];
beforeEach(() => {
  vi.useFakeTimers();
  [steady, wall, said] = [0, Date.parse('2025-09-03T08:00:00Z'), []];
});
afterEach(() => {
  vi.useRealTimers();
});

function pass(milliseconds: number): void {
  steady += milliseconds;
  wall += milliseconds;
  vi.advanceTimersByTime(milliseconds);
}

it('tells of each jump once, and of no jump where there is none', () => {
  const log = pino({}, { write: (line: string) => said.push(JSON.parse(line)) });
  const end = watchClock(
    log,
    () => wall,
    () => steady,
  );
  pass(HOUR);
  // What time servers correct in passing.
  wall += 60_000;
  pass(HOUR);
  expect(said).toEqual([]);
  wall -= HOUR;
  pass(HOUR);
  expect(said.map(({ minutes }) => minutes)).toEqual([-59]);
  expect(said[0]!.msg).toContain('jumped back by 59 minutes');
  wall += 24 * HOUR;
  pass(HOUR);
  expect(said.map(({ minutes }) => minutes)).toEqual([-59, 1440]);
  end();
  wall += 24 * HOUR;
  pass(HOUR);
  expect(said).toHaveLength(2);
});
