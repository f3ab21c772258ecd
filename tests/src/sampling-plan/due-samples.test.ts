import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type DueSamplesInput, dueSamples, type PlannedTimes } from '../../../src/index.ts';

/** Local time of September 2025 at UTC+2; the 1st is a Monday. */
const local = (day: number, hour: number, minute = 0) => Date.UTC(2025, 8, day, hour - 2, minute);
const hourly: PlannedTimes = { firstSampleAt: '06:30', intervalMinutes: 60, since: null };
const base: DueSamplesInput = {
  plans: [hourly],
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

  it('goes from upcoming to due, late after a quarter of the interval, and missed after three quarters', () => {
    const first = (now: number) => states({ now })[0];
    expect(first(local(1, 6, 29))).toBe('upcoming');
    expect(first(local(1, 6, 30))).toBe('due');
    expect(first(local(1, 6, 44))).toBe('due');
    expect(first(local(1, 6, 45))).toBe('late');
    expect(first(local(1, 7, 14))).toBe('late');
    expect(first(local(1, 7, 15))).toBe('missed');
    const last = (now: number) => states({ now }).at(-1);
    expect(last(local(1, 22, 14))).toBe('late');
    expect(last(local(1, 22, 15))).toBe('missed');
  });

  const filled = (takenAt: number[]) => dueSamples({ ...base, takenAt }).map(({ takenIndex }) => takenIndex);

  it('lets each sample fill one slot, the one that is least early or late for it', () => {
    expect(filled([local(1, 7, 40), local(1, 6, 31)]).slice(0, 3)).toEqual([1, 0, null]);
    // Two samples in one slot: the nearer one counts, and the other is too early for the next.
    expect(filled([local(1, 7, 50), local(1, 7, 33)]).slice(0, 3)).toEqual([null, 1, null]);
    // Half an hour late or early: late, unless that slot is filled.
    expect(filled([local(1, 7)]).slice(0, 2)).toEqual([0, null]);
    expect(filled([local(1, 7), local(1, 6, 30)]).slice(0, 2)).toEqual([1, 0]);
    expect(filled([local(1, 6)])[0]).toBe(0);
    expect(filled([local(1, 5, 59)])[0]).toBeNull();
    // Each a little early, with one missing: the others stay where they belong.
    const early = [local(1, 6, 20), local(1, 8, 20), local(1, 9, 20)];
    expect(filled(early).slice(0, 5)).toEqual([0, null, 1, 2, null]);
  });

  it('counts a sample for the slot that is shown as open at that moment', () => {
    for (let minute = 0; minute < 16 * 60; minute++) {
      const now = local(1, 6, 30 + minute);
      const open = dueSamples({ ...base, now }).findIndex(({ state }) => state === 'due' || state === 'late');
      if (open >= 0) expect(filled([now])[open]).toBe(0);
    }
  });

  it('asks for nothing before a plan was made', () => {
    const plans = [{ ...hourly, since: local(1, 11, 50) }];
    const day = dueSamples({ ...base, plans, takenAt: [local(1, 12, 31)] });
    expect(day[0]).toEqual({ dueAt: local(1, 12, 30), state: 'done', takenIndex: 0 });
    expect(day).toHaveLength(10);
  });

  it('keeps what the plan before a changed one asked for', () => {
    const plans = [hourly, { firstSampleAt: '06:00', intervalMinutes: 30, since: local(1, 9) }];
    const takenAt = [local(1, 6, 30), local(1, 8, 55)];
    const day = dueSamples({ ...base, plans, takenAt, now: local(1, 9, 40) });
    expect(day.slice(0, 6).map(({ dueAt, state }) => [dueAt, state])).toEqual([
      [local(1, 6, 30), 'done'],
      [local(1, 7, 30), 'missed'],
      [local(1, 8, 30), 'done'],
      [local(1, 9), 'missed'],
      [local(1, 9, 30), 'late'],
      [local(1, 10), 'upcoming'],
    ]);
    expect(day).toHaveLength(3 + 26);
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
    const plans = [{ ...hourly, intervalMinutes: 10_080 }];
    const weekly = { ...base, plans, from: local(1, 0), to: local(29, 0) };
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
            plans: [{ ...hourly, intervalMinutes }],
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
                intervalMinutes * 45_000,
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
    const refusesPlan = (change: Partial<PlannedTimes>, code: string, field: string) =>
      refuses({ plans: [hourly, { ...hourly, since: local(1, 0), ...change }] }, code, `plans.1.${field}`);
    refusesPlan({ intervalMinutes: 0 }, 'out-of-range', 'intervalMinutes');
    refusesPlan({ intervalMinutes: Number.NaN }, 'out-of-range', 'intervalMinutes');
    refusesPlan({ firstSampleAt: '6.30' }, 'out-of-range', 'firstSampleAt');
    refusesPlan({ since: Number.NaN }, 'not-finite', 'since');
    refusesPlan({ since: null }, 'limits-reversed', 'since');
    refuses({ to: local(0, 0) }, 'limits-reversed', 'to');
    refuses({ to: Number.MAX_SAFE_INTEGER }, 'out-of-range', 'to');
    refuses({ takenAt: [1, Number.NaN] }, 'not-finite', 'takenAt.1');
    refuses({ now: Number.NaN }, 'not-finite', 'now');
  });
});
