import { describe, expect, it } from 'vitest';
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

  it.each([
    [1.5, 'not-an-integer'],
    [Number.NaN, 'not-an-integer'],
    [-1, 'out-of-range'],
  ])('refuses %f points', (points, code) => {
    expect(() => expectedFalseSignals(points)).toThrow(expect.objectContaining({ code, argument: 'points' }));
  });
});
