import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { andersonDarling } from '../../../src/index.ts';

const values = [17.904, 17.294, 18.24, 17.346, 21.024, 18.3, 17.9, 19.2];
const adjusted = (data: readonly number[]) => {
  const result = andersonDarling(data);
  if (!result.available) throw new Error(result.message);
  return result.adjustedStatistic;
};

describe('andersonDarling', () => {
  it('does not depend on order, unit, origin or direction', () => {
    const expected = adjusted(values);
    expect(adjusted([...values].reverse())).toBeCloseTo(expected, 12);
    expect(adjusted(values.map((value) => value * 1000))).toBeCloseTo(expected, 10);
    expect(adjusted(values.map((value) => value + 5000))).toBeCloseTo(expected, 8);
    expect(adjusted(values.map((value) => -value))).toBeCloseTo(expected, 12);
  });

  it('stays finite for a value far out in the tail, and leaves its input alone', () => {
    const data = Object.freeze([...Array.from({ length: 2000 }, (_, index) => (index % 7) / 10), 1e6]);
    const result = andersonDarling(data);
    expect(result).toMatchObject({ available: true, pValue: 0 });
    expect(adjusted(data)).toBeGreaterThan(100);
  });

  it('gives a probability whatever the values', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -50, max: 50 }), { minLength: 5, maxLength: 40 }), (data) => {
        const result = andersonDarling(data);
        if (!result.available) return expect(new Set(data).size).toBe(1);
        expect(result.pValue).toBeGreaterThanOrEqual(0);
        expect(result.pValue).toBeLessThanOrEqual(1);
        expect(Number.isFinite(result.statistic)).toBe(true);
      }),
    );
  });

  it('has no answer without variation or with too few values, and says which', () => {
    expect(andersonDarling([])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(andersonDarling([1, 2, 3, 4])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(andersonDarling([2, 2, 2, 2, 2])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(() => andersonDarling([1, 2, Number.NaN, 4, 5])).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'values.2' }),
    );
  });
});
