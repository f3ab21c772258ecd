import { describe, expect, it } from 'vitest';
import { findSignals, type RunRuleSettings, runRuleNames } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { expectedFalseSignals } from '../../../src/run-rules/expected-false-signals.ts';

describe('signals that chance alone gives', () => {
  // scipy 1.17.1: points · 2 · norm.sf(3).
  it.each([
    [0, 0],
    [576, 1.5550825324378674],
    [20_000, 53.995921265203734],
  ])('on %i points', (points, expected) => {
    expect(expectedFalseSignals(points)).toBeCloseTo(expected, 10);
  });

  // scipy 1.17.1 for the tails a = norm.sf(2), b = norm.sf(1): 2a(1 − (1 − a)²), 2(4b⁴(1 − b) + b⁵), 2 · 2⁻ᵏ, 2/6!,
  // 2 · 199360981/14!, (1 − 2b)¹⁵, (2b)⁸, (2b)⁸ − 2b⁸.
  it.each<[number, RunRuleSettings]>([
    [0.0020467245111373015, { rules: ['two-of-three-beyond-two-sigma'] }],
    [0.004465683594377152, { rules: ['four-of-five-beyond-one-sigma'] }],
    [2 / 2 ** 9, { rules: ['run-on-one-side'] }],
    [2 / 2 ** 7, { rules: ['run-on-one-side'], oneSideRunLength: 7 }],
    [2 / 720, { rules: ['six-in-a-trend'] }],
    [0.004573638190329659, { rules: ['fourteen-alternating'] }],
    [0.003260981045959112, { rules: ['fifteen-within-one-sigma'] }],
    [0.00010277219526595066, { rules: ['eight-outside-one-sigma'] }],
    [0.00010196928749043543, { rules: ['eight-outside-one-sigma'], outsideMustBeOnBothSides: true }],
  ])('at each further point: %d with %o', (chance, settings) => {
    const further = expectedFalseSignals(31, settings) - expectedFalseSignals(30, settings);
    expect(further / chance).toBeCloseTo(1, 10);
  });

  it('needs the points of a pattern first', () => {
    const firstWith = (settings: RunRuleSettings) =>
      Array.from({ length: 20 }, (_, points) => expectedFalseSignals(points, settings)).findIndex(
        (expected) => expected > 0,
      );
    expect(runRuleNames.map((rule) => firstWith({ rules: [rule] }))).toEqual([1, 2, 4, 9, 6, 14, 15, 8]);
    // Two first points beyond two standard deviations, on either side.
    expect(expectedFalseSignals(2, { rules: ['two-of-three-beyond-two-sigma'] })).toBeCloseTo(
      2 * 0.022750131948179 ** 2,
      12,
    );
    expect(expectedFalseSignals(4, { rules: ['four-of-five-beyond-one-sigma'] })).toBeCloseTo(
      2 * 0.158655253931457 ** 4,
      12,
    );
  });

  it('is what simulated series give, all rules together', () => {
    const { normal } = randomSource(99);
    const series = 400;
    const points = 100;
    const settings: RunRuleSettings = { rules: runRuleNames, outsideMustBeOnBothSides: true };
    const counts = Array.from(
      { length: series },
      () => findSignals(Array.from({ length: points }, normal), settings).length,
    );
    const mean = counts.reduce((sum, count) => sum + count, 0) / series;
    const spread = Math.sqrt(counts.reduce((sum, count) => sum + (count - mean) ** 2, 0) / (series - 1));
    expect(Math.abs(mean - expectedFalseSignals(points, settings))).toBeLessThan(
      (4 * spread) / Math.sqrt(series),
    );
  });

  it.each([
    [1.5, 'not-an-integer'],
    [Number.NaN, 'not-finite'],
    [-1, 'out-of-range'],
  ])('refuses %f points', (points, code) => {
    expect(() => expectedFalseSignals(points)).toThrow(expect.objectContaining({ code, argument: 'points' }));
  });
});
