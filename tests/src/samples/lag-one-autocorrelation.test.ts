import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { lagOneAutocorrelation } from '../../../src/index.ts';
import { reading } from '../generators.ts';

// Certified values: tests/reference/strd-univariate.test.ts.
describe('lagOneAutocorrelation', () => {
  test('lies between −1 and 1', () => {
    fc.assert(
      fc.property(fc.array(reading, { minLength: 2, maxLength: 30 }), (values) => {
        const result = lagOneAutocorrelation(values);
        if (result.available) expect(Math.abs(result.correlation)).toBeLessThanOrEqual(1);
        else expect(new Set(values).size).toBe(1);
      }),
    );
  });

  test('does not exist for one value, or without variation', () => {
    expect(lagOneAutocorrelation([1])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(lagOneAutocorrelation([2, 2, 2])).toMatchObject({ available: false, reason: 'no-variation' });
  });

  test.each([
    [[], 'empty', 'values'],
    [[1, Number.NaN], 'not-finite', 'values.1'],
    [[1, null as unknown as number], 'not-finite', 'values.1'],
  ])('%j is refused: %s at %s', (values, code, argument) => {
    expect(() => lagOneAutocorrelation(values)).toThrowError(expect.objectContaining({ code, argument }));
  });
});
