import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type SuspectWindowInput, suspectWindow } from '../../../src/index.ts';

/** Local time of October 2025 at UTC+2; 1 October is a Wednesday, the 5th a Sunday. */
const local = (day: number, hour: number, minute = 0) => Date.UTC(2025, 9, day, hour - 2, minute);
const base: SuspectWindowInput = {
  lastGoodAt: local(8, 14, 30),
  until: local(8, 18, 30),
  runningHours: { start: '06:00', end: '22:00', weekdays: [1, 2, 3, 4, 5, 6] },
  utcOffsetMinutes: 120,
  partsPerHour: 310,
  stoppages: [],
  lots: [],
};
const parts = (change: Partial<SuspectWindowInput>) => suspectWindow({ ...base, ...change }).suspectParts;

describe('suspectWindow', () => {
  it('counts 1 240 parts in 4 hours at 310 an hour, and says so', () => {
    expect(
      suspectWindow({
        ...base,
        lots: [
          { from: local(7, 6), lot: '118' },
          { from: local(8, 16), lot: '119' },
        ],
      }),
    ).toEqual({
      from: local(8, 14, 30),
      to: local(8, 18, 30),
      runningHours: 4,
      suspectParts: 1240,
      lots: ['118', '119'],
      sentence:
        '1\u202f240 parts made from 2025-10-08 14:30 (the last sample verified good) to 2025-10-08 18:30 are suspect: 4 h of running at 310 an hour, coil lots 118 and 119.',
    });
  });

  it('speaks of one part as one', () => {
    expect(suspectWindow({ ...base, partsPerHour: 0.25 }).sentence).toMatch(
      /^1 part made from .* is suspect: 4 h of running at 0\.25 an hour\.$/,
    );
  });

  it('counts over nights and idle days only while the line runs', () => {
    // Saturday 21:00 to Monday 07:00: one hour, the Sunday idle, one hour.
    expect(parts({ lastGoodAt: local(4, 21), until: local(6, 7) })).toBe(620);
    expect(parts({ lastGoodAt: local(5, 8), until: local(5, 12) })).toBe(0);
    // Three whole weeks of six days of 16 hours.
    expect(parts({ lastGoodAt: local(1, 0), until: local(22, 0) })).toBe(3 * 6 * 16 * 310);
  });

  it('is exact at the boundaries', () => {
    expect(parts({ lastGoodAt: local(8, 6), until: local(8, 22) })).toBe(4960);
    expect(parts({ lastGoodAt: local(8, 5), until: local(8, 23) })).toBe(4960);
    expect(parts({ lastGoodAt: local(8, 22), until: local(9, 6) })).toBe(0);
    expect(parts({ lastGoodAt: local(8, 14), until: local(8, 14) })).toBe(0);
    const roundTheClock = { start: '00:00', end: '24:00', weekdays: [1, 2, 3, 4, 5, 6, 7] };
    expect(parts({ lastGoodAt: local(8, 0), until: local(10, 0), runningHours: roundTheClock })).toBe(
      48 * 310,
    );
  });

  it('does not count stoppages, nor any of them twice', () => {
    const stoppages = [
      { from: local(8, 15), to: local(8, 16) },
      { from: local(8, 15, 30), to: local(8, 16, 30) },
      { from: local(8, 15, 10), to: local(8, 15, 20) },
      { from: local(7, 20), to: local(8, 14, 45) },
    ];
    expect(suspectWindow({ ...base, stoppages }).runningHours).toBe(4 - 1.5 - 0.25);
    // Still standing since 18:00.
    expect(suspectWindow({ ...base, stoppages: [{ from: local(8, 18), to: null }] }).runningHours).toBe(3.5);
    // A stoppage over a night takes away running time only.
    expect(
      suspectWindow({
        ...base,
        until: local(9, 8),
        stoppages: [{ from: local(8, 21), to: local(9, 7) }],
      }).runningHours,
    ).toBe(6.5 + 1);
  });

  it('names the lots from which parts were made, each once', () => {
    const lots = [
      { from: local(8, 18, 30), lot: 'at the end' },
      { from: local(8, 17), lot: 'B' },
      { from: local(8, 12), lot: 'A' },
      { from: local(8, 17, 30), lot: 'A' },
      { from: local(8, 9), lot: 'before' },
    ];
    expect(suspectWindow({ ...base, lots }).lots).toEqual(['A', 'B']);
    // Hung in at night, used in the morning by its successor only.
    const night = [
      { from: local(8, 23), lot: 'night' },
      { from: local(9, 5), lot: 'morning' },
    ];
    expect(
      suspectWindow({ ...base, lastGoodAt: local(8, 22), until: local(9, 7), lots: night }).lots,
    ).toEqual(['morning']);
  });

  it('begins at the earlier of the estimated change and the last good sample', () => {
    expect(suspectWindow({ ...base, firstSuspectAt: local(8, 12) }).from).toBe(local(8, 12));
    expect(suspectWindow({ ...base, firstSuspectAt: local(8, 16) }).from).toBe(local(8, 14, 30));
    const fromTheStart = suspectWindow({ ...base, lastGoodAt: null, firstSuspectAt: local(8, 6) });
    expect(fromTheStart.sentence).toContain('no sample before was verified good');
    expect(fromTheStart.sentence).toMatch(/^At least /);
    expect(fromTheStart.sentence).toContain('made before that were never verified either');
  });

  it('is additive over adjoining windows and equals a count minute by minute', () => {
    const time = fc.integer({ min: 0, max: 20 * 1440 }).map((minute) => local(1, 0, minute));
    fc.assert(
      fc.property(
        fc.tuple(time, time, time),
        fc.array(fc.tuple(time, time), { maxLength: 4 }),
        fc.integer({ min: -840, max: 840 }),
        (times, stops, utcOffsetMinutes) => {
          const [from, middle, until] = [...times].sort((a, b) => a - b) as [number, number, number];
          const stoppages = stops.map(([a, b]) => ({ from: Math.min(a, b), to: Math.max(a, b) }));
          const hours = (lastGoodAt: number, end: number) =>
            suspectWindow({ ...base, lastGoodAt, until: end, stoppages, utcOffsetMinutes }).runningHours;
          expect(hours(from, middle) + hours(middle, until)).toBeCloseTo(hours(from, until), 9);
          let minutes = 0;
          for (let at = from; at < until; at += 60_000) {
            const clock = new Date(at + utcOffsetMinutes * 60_000);
            const runs = clock.getUTCDay() !== 0 && clock.getUTCHours() >= 6 && clock.getUTCHours() < 22;
            if (runs && !stoppages.some((stop) => at >= stop.from && at < stop.to)) minutes++;
          }
          expect(hours(from, until)).toBeCloseTo(minutes / 60, 9);
        },
      ),
      { numRuns: 50 },
    );
  });

  it('refuses what makes no window, naming the field', () => {
    const refuses = (change: Partial<SuspectWindowInput>, code: string, argument: string) =>
      expect(() => suspectWindow({ ...base, ...change })).toThrow(
        expect.objectContaining({ code, argument }),
      );
    refuses({ lastGoodAt: null }, 'empty', 'firstSuspectAt');
    refuses({ until: local(8, 14) }, 'limits-reversed', 'until');
    refuses({ until: Number.NaN }, 'not-finite', 'until');
    refuses({ firstSuspectAt: Number.NaN }, 'not-finite', 'firstSuspectAt');
    refuses({ partsPerHour: 0 }, 'out-of-range', 'partsPerHour');
    refuses({ partsPerHour: Number.NaN }, 'out-of-range', 'partsPerHour');
    refuses({ stoppages: [{ from: 2, to: 1 }] }, 'limits-reversed', 'stoppages.0.to');
    refuses(
      { runningHours: { start: '22:00', end: '06:00', weekdays: [1] } },
      'limits-reversed',
      'runningHours.end',
    );
    refuses(
      { runningHours: { start: '6', end: '22:00', weekdays: [1] } },
      'out-of-range',
      'runningHours.start',
    );
    refuses(
      { runningHours: { start: '06:00', end: '24:30', weekdays: [1] } },
      'out-of-range',
      'runningHours.end',
    );
    refuses(
      { runningHours: { start: '06:00', end: '22:00', weekdays: [0] } },
      'out-of-range',
      'runningHours.weekdays.0',
    );
    refuses({ lots: [{ from: Number.NaN, lot: 'A' }] }, 'not-finite', 'lots.0.from');
  });
});
