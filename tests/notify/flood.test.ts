import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FLOOD_WINDOW, floodPeriods } from '../../api/routing/flood.ts';

const minute = 60_000;
const at = (...minutes: number[]) => minutes.map((count) => count * minute);
const far = 1000 * minute;

/** The definition once more, second by second, without any cleverness. */
function bySeconds(times: readonly number[], until: number) {
  const periods: { from: number; to: number | null; alarms: number }[] = [];
  let open: { from: number; index: number } | null = null;
  const sorted = [...times].sort((a, b) => a - b);
  for (let second = 0; second <= until; second += 1000) {
    const within = sorted.filter((time) => time <= second && time > second - FLOOD_WINDOW);
    // What comes in this very second has not come yet when those before it leave.
    const before = within.filter((time) => time < second);
    if (open !== null && before.length < 5) {
      periods.push({
        from: open.from,
        to: second,
        alarms: sorted.filter((time) => time < second).length - open.index,
      });
      open = null;
    }
    if (open === null && within.length > 10) open = { from: within[0]!, index: sorted.indexOf(within[0]!) };
  }
  if (open !== null) periods.push({ from: open.from, to: null, alarms: sorted.length - open.index });
  return periods;
}

describe('alarm floods: more than 10 within 10 minutes, until fewer than 5 are', () => {
  it('takes eleven for a flood and ten for none', () => {
    const ten = at(0, 1, 2, 3, 4, 5, 6, 7, 8, 9);
    expect(floodPeriods(ten, far)).toEqual([]);
    // The first has left after ten minutes.
    expect(floodPeriods([...ten, 10 * minute], far)).toEqual([]);
    expect(floodPeriods([...ten, 9.9 * minute], far)).toEqual([{ from: 0, to: 16 * minute, alarms: 11 }]);
  });

  it('lasts while it lasts', () => {
    const times = at(0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0);
    expect(floodPeriods(times, 9 * minute)).toEqual([{ from: 0, to: null, alarms: 11 }]);
    expect(floodPeriods(times, 10 * minute)).toEqual([{ from: 0, to: 10 * minute, alarms: 11 }]);
    expect(floodPeriods([], 0)).toEqual([]);
  });

  it('is what counting second by second gives', () => {
    const seconds = fc.array(fc.integer({ min: 0, max: 3000 }), { maxLength: 80 });
    fc.assert(
      fc.property(seconds, fc.integer({ min: 0, max: 4000 }), (offsets, end) => {
        const now = end * 1000;
        const times = offsets.map((offset) => offset * 1000);
        const known = times.filter((time) => time <= now);
        expect(floodPeriods(times, now)).toEqual(bySeconds(known, now));
      }),
      { numRuns: 60 },
    );
  });
});
