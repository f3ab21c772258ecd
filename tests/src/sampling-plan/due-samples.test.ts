import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type DueSamplesInput, dueSamples } from '../../../src/index.ts';

/** Local time of September 2025 at UTC+2; the 1st is a Monday. */
const local = (day: number, hour: number, minute = 0) => Date.UTC(2025, 8, day, hour - 2, minute);
const base: DueSamplesInput = {
  firstSampleAt: '06:30',
  intervalMinutes: 60,
  runningHours: { start: '06:00', end: '22:00', weekdays: [1, 2, 3, 4, 5, 6] },
  utcOffsetMinutes: 120,
  from: local(1, 0),
  to: local(2, 0),
  now: local(1, 12),
  takenAt: [],
  declaredMissed: [],
};
const states = (change: Partial<DueSamplesInput>) =>
  dueSamples({ ...base, ...change }).map(({ state }) => state);

describe('dueSamples', () => {
  it('plans sixteen hourly samples a day, on running days only', () => {
    const day = dueSamples(base);
    expect(day).toHaveLength(16);
    expect(day[0]?.dueAt).toBe(local(1, 6, 30));
    expect(day.at(-1)?.dueAt).toBe(local(1, 21, 30));
    // 42 days with six idle Sundays: 36 × 16 slots.
    expect(dueSamples({ ...base, to: local(43, 0) })).toHaveLength(576);
    expect(dueSamples({ ...base, from: local(7, 0), to: local(8, 0) })).toHaveLength(0);
  });

  it('counts three hourly slots without a sample as three misses', () => {
    const takenAt = [...Array(16).keys()].filter((k) => k < 9 || k > 11).map((k) => local(1, 6, 30 + 60 * k));
    const day = dueSamples({ ...base, takenAt, now: local(1, 22) });
    expect(day.filter(({ state }) => state === 'missed').map(({ dueAt }) => dueAt)).toEqual([
      local(1, 15, 30),
      local(1, 16, 30),
      local(1, 17, 30),
    ]);
    expect(day.filter(({ state }) => state === 'done')).toHaveLength(13);
  });

  it('goes from upcoming to due, late after a quarter of the interval, and missed when the next slot comes', () => {
    const first = (now: number) => states({ now })[0];
    expect(first(local(1, 6, 29))).toBe('upcoming');
    expect(first(local(1, 6, 30))).toBe('due');
    expect(first(local(1, 6, 44))).toBe('due');
    expect(first(local(1, 6, 45))).toBe('late');
    expect(first(local(1, 7, 29))).toBe('late');
    expect(first(local(1, 7, 30))).toBe('missed');
    const last = (now: number) => states({ now }).at(-1);
    expect(last(local(1, 22, 29))).toBe('late');
    expect(last(local(1, 22, 30))).toBe('missed');
  });

  it('lets each sample fill one slot, nearest first', () => {
    const filled = (takenAt: number[]) =>
      dueSamples({ ...base, takenAt }).map(({ takenIndex }) => takenIndex);
    expect(filled([local(1, 7, 40), local(1, 6, 31)]).slice(0, 3)).toEqual([1, 0, null]);
    // Two samples near one slot: the nearer one counts, and the other fills no neighbour.
    expect(filled([local(1, 7, 50), local(1, 7, 33)]).slice(0, 3)).toEqual([null, 1, null]);
    // Half-way between two slots: the earlier one, unless it is filled.
    expect(filled([local(1, 7)]).slice(0, 2)).toEqual([0, null]);
    expect(filled([local(1, 7), local(1, 6, 30)]).slice(0, 2)).toEqual([1, 0]);
    expect(filled([local(1, 5, 59)])[0]).toBeNull();
  });

  it('keeps a declared miss apart from a silent one, and a late sample before both', () => {
    const change = { declaredMissed: [local(1, 6, 30), local(1, 7, 30)], takenAt: [local(1, 7, 35)] };
    expect(states(change).slice(0, 3)).toEqual(['declared missed', 'done', 'missed']);
  });

  it('plans nothing while a stoppage is recorded', () => {
    const stoppages = [{ from: local(1, 8, 30), to: local(1, 10, 30) }];
    expect(dueSamples({ ...base, stoppages })).toHaveLength(14);
    expect(dueSamples({ ...base, stoppages: [{ from: local(1, 8), to: null }] })).toHaveLength(2);
  });

  it('plans an interval longer than a day on the days on which it begins', () => {
    const weekly = { ...base, intervalMinutes: 10_080, from: local(1, 0), to: local(29, 0) };
    expect(dueSamples(weekly).map(({ dueAt }) => dueAt)).toEqual(
      [1, 8, 15, 22].map((day) => local(day, 6, 30)),
    );
  });

  it('partitions: adjoining periods give the slots and states of the whole', () => {
    const minute = fc.integer({ min: 0, max: 3 * 1440 });
    fc.assert(
      fc.property(
        minute,
        minute,
        fc.array(minute, { maxLength: 60 }),
        fc.constantFrom(15, 45, 60, 480, 1440, 2880),
        (cut, now, taken, intervalMinutes) => {
          const input = {
            ...base,
            intervalMinutes,
            from: local(1, 0),
            to: local(4, 0),
            now: local(1, 0, now),
            takenAt: taken.map((at) => local(1, 0, at)),
          };
          const whole = dueSamples(input);
          const middle = local(1, 0, cut);
          expect([
            ...dueSamples({ ...input, to: middle }),
            ...dueSamples({ ...input, from: middle }),
          ]).toEqual(whole);
          const used = whole.flatMap(({ takenIndex }) => (takenIndex === null ? [] : [takenIndex]));
          expect(new Set(used).size).toBe(used.length);
          for (const { dueAt, state, takenIndex } of whole) {
            expect(state === 'done').toBe(takenIndex !== null);
            if (takenIndex !== null)
              expect(Math.abs(input.takenAt[takenIndex]! - dueAt)).toBeLessThanOrEqual(
                intervalMinutes * 30_000,
              );
            if (state === 'upcoming') expect(dueAt).toBeGreaterThan(input.now);
          }
        },
      ),
    );
  });

  it('refuses what makes no plan, naming the field', () => {
    const refuses = (change: Partial<DueSamplesInput>, code: string, argument: string) =>
      expect(() => dueSamples({ ...base, ...change })).toThrow(expect.objectContaining({ code, argument }));
    refuses({ intervalMinutes: 0 }, 'out-of-range', 'intervalMinutes');
    refuses({ intervalMinutes: Number.NaN }, 'out-of-range', 'intervalMinutes');
    refuses({ firstSampleAt: '6.30' }, 'out-of-range', 'firstSampleAt');
    refuses({ to: local(0, 0) }, 'limits-reversed', 'to');
    refuses({ to: Number.MAX_SAFE_INTEGER }, 'out-of-range', 'to');
    refuses({ takenAt: [1, Number.NaN] }, 'not-finite', 'takenAt.1');
    refuses({ now: Number.NaN }, 'not-finite', 'now');
  });
});
