import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { findSignals, type RunRuleName, runRuleNames } from '../../../src/index.ts';
import { coarseValue } from '../generators.ts';

type Values = readonly (number | null)[];

/**
 * The rules once more, point by point and as slowly as they are worded in Nelson, Journal of Quality Technology 16(4),
 * 1984, with a missing point breaking every pattern.
 */
const worded: Record<RunRuleName, (values: Values, at: number) => boolean> = {
  'one-beyond-three-sigma': (values, at) => Math.abs(values[at] ?? 0) > 3,
  'two-of-three-beyond-two-sigma': (values, at) => someOfLast(values, at, 2, 3, 2),
  'four-of-five-beyond-one-sigma': (values, at) => someOfLast(values, at, 4, 5, 1),
  'run-on-one-side': (values, at) => {
    const run = last(values, at, 9);
    return run !== null && (run.every((value) => value > 0) || run.every((value) => value < 0));
  },
  'six-in-a-trend': (values, at) => {
    const run = last(values, at, 6);
    if (run === null) return false;
    const steps = run.slice(1).map((value, index) => Math.sign(value - run[index]!));
    return steps.every((step) => step === 1) || steps.every((step) => step === -1);
  },
  'fourteen-alternating': (values, at) => {
    const run = last(values, at, 14);
    if (run === null) return false;
    const steps = run.slice(1).map((value, index) => Math.sign(value - run[index]!));
    return steps.every((step, index) => step !== 0 && (index === 0 || step === -steps[index - 1]!));
  },
  'fifteen-within-one-sigma': (values, at) =>
    last(values, at, 15)?.every((value) => Math.abs(value) < 1) ?? false,
  'eight-outside-one-sigma': (values, at) =>
    last(values, at, 8)?.every((value) => Math.abs(value) > 1) ?? false,
};

function last(values: Values, at: number, count: number): number[] | null {
  const run = values.slice(Math.max(0, at - count + 1), at + 1).filter((value) => value !== null);
  return run.length === count ? run : null;
}

function someOfLast(values: Values, at: number, needed: number, count: number, beyond: number): boolean {
  const latest = values[at] ?? 0;
  if (Math.abs(latest) <= beyond) return false;
  const onSide = values
    .slice(Math.max(0, at - count + 1), at + 1)
    .filter((value) => value !== null && value * Math.sign(latest) > beyond);
  return onSide.length >= needed;
}

/** Series in which every rule has a chance: wild, calm, trending, alternating and one-sided stretches. */
const stretch = fc.oneof(
  fc.array(coarseValue, { minLength: 1, maxLength: 20 }),
  fc.array(fc.constantFrom(-0.5, 0, 0.5, 0.75), { minLength: 10, maxLength: 20 }),
  fc.array(fc.constantFrom(0.5, 1, 1.5, 2.5), { minLength: 5, maxLength: 12 }),
  fc.array(fc.constantFrom(-2.5, -1.5, 1.5, 2), { minLength: 5, maxLength: 12 }),
  fc.integer({ min: 4, max: 9 }).map((length) => Array.from({ length }, (_, i) => -2 + i / 2)),
  fc
    .integer({ min: 10, max: 18 })
    .map((length) => Array.from({ length }, (_, i) => (i % 2 === 0 ? 0.5 : -0.5))),
);
const series = fc
  .array(fc.oneof({ weight: 5, arbitrary: stretch }, { weight: 1, arbitrary: fc.constant([null]) }), {
    maxLength: 6,
  })
  .map((stretches): Values => stretches.flat());

describe('findSignals', () => {
  test.each(runRuleNames)('%s fires as it is worded, missing points included', (rule) => {
    let fired = 0;
    fc.assert(
      fc.property(series, (values) => {
        const found = findSignals(values, { rules: [rule] }).map(({ index }) => index);
        fired += found.length;
        expect(found).toEqual(values.flatMap((_, at) => (worded[rule](values, at) ? [at] : [])));
      }),
      { numRuns: 300 },
    );
    expect(fired).toBeGreaterThan(10);
  });

  test('every signal stands on points that carry it, up to the one that completes it', () => {
    fc.assert(
      fc.property(series, (values) => {
        for (const { points, index, side, rule } of findSignals(values, { rules: runRuleNames })) {
          expect(points.at(-1)).toBe(index);
          expect(points).toEqual([...points].sort((a, b) => a - b));
          const carried = points.map((point) => values[point]!);
          if (rule === 'six-in-a-trend')
            expect(Math.sign(carried.at(-1)! - carried[0]!)).toBe(side === 'above' ? 1 : -1);
          else if (side !== 'both')
            expect(carried.every((value) => value > 0 === (side === 'above'))).toBe(true);
          else if (rule === 'eight-outside-one-sigma') expect(new Set(carried.map(Math.sign)).size).toBe(2);
        }
      }),
    );
  });

  test('turned upside down, above becomes below', () => {
    const turned = { above: 'below', below: 'above', both: 'both' } as const;
    fc.assert(
      fc.property(series, (values) => {
        const down = findSignals(
          values.map((value) => (value === null ? null : -value)),
          { rules: runRuleNames },
        );
        const up = findSignals(Object.freeze([...values]), { rules: runRuleNames });
        expect(down).toEqual(up.map((signal) => ({ ...signal, side: turned[signal.side] })));
      }),
    );
  });

  test('names the points and the side', () => {
    expect(findSignals([0.2, 2.4, -0.1, 2.1], { rules: ['two-of-three-beyond-two-sigma'] })).toEqual([
      { rule: 'two-of-three-beyond-two-sigma', index: 3, points: [1, 3], side: 'above' },
    ]);
    expect(findSignals([3, 2, 1, 0, -1, -2], { rules: ['six-in-a-trend'] })).toEqual([
      { rule: 'six-in-a-trend', index: 5, points: [0, 1, 2, 3, 4, 5], side: 'below' },
    ]);
  });

  test('a shorter run on one side is a setting', () => {
    const values = Array(8).fill(0.1);
    const run = (oneSideRunLength: 7 | 8 | 9) =>
      findSignals(values, { rules: ['run-on-one-side'], oneSideRunLength }).map(({ index }) => index);
    expect([run(7), run(8), run(9)]).toEqual([[6, 7], [7], []]);
  });

  test('nothing to see in nothing', () => {
    expect(findSignals([], { rules: runRuleNames })).toEqual([]);
    expect(findSignals([null, null], { rules: runRuleNames })).toEqual([]);
    expect(findSignals([9, 9, 9], { rules: [] })).toEqual([]);
  });

  test.each([
    [[0, Number.NaN], {}, 'not-finite', 'standardisedValues.1'],
    [[Infinity], {}, 'not-finite', 'standardisedValues.0'],
    [[0], { rules: ['seven-in-a-row'] }, 'unknown-name', 'settings.rules.0'],
    [[0], { oneSideRunLength: 6 }, 'out-of-range', 'settings.oneSideRunLength'],
  ])('%j with %j is refused: %s at %s', (values, settings, code, argument) => {
    expect(() => findSignals(values, { rules: runRuleNames, ...settings } as never)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });
});
