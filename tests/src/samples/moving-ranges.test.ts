import { describe, expect, test } from 'vitest';
import { movingRanges } from '../../../src/index.ts';

describe('movingRanges', () => {
  test('needs every value of its span', () => {
    expect(movingRanges([3, 5, null, 4, 1])).toEqual([null, 2, null, null, 3]);
    expect(movingRanges([3, 5, 4, null, 1, 2, 9], 3)).toEqual([null, null, 2, null, null, null, 8]);
    expect(movingRanges([])).toEqual([]);
    expect(movingRanges([4], 2)).toEqual([null]);
  });

  test.each<[(number | null)[], number, string, string]>([
    [[1, Number.NaN], 2, 'not-finite', 'values.1'],
    [[Infinity, 1], 2, 'not-finite', 'values.0'],
    [[1e308, -1e308], 2, 'out-of-range', 'values.1'],
    [[1, 2], 1, 'out-of-range', 'span'],
    [[1, 2], 2.5, 'not-an-integer', 'span'],
  ])('%j with span %d is refused: %s at %s', (values, span, code, argument) => {
    expect(() => movingRanges(values, span)).toThrowError(expect.objectContaining({ code, argument }));
  });
});
