import { describe, expect, test } from 'vitest';
import { chartFactors } from '../../../src/index.ts';
import { unbiasingFactor } from '../../../src/samples/unbiasing-factor.ts';

// Values for n = 2 … 100 are reference cases (tests/reference/constants.json); these are exact ones.
describe('chartFactors', () => {
  test('n = 2: the range is |N(0, 2)|, so d2 = 2/√π and d3 = √(2 − 4/π)', () => {
    const { d2, d3, c4 } = chartFactors(2);
    expect(d2).toBeCloseTo(2 / Math.sqrt(Math.PI), 13);
    expect(d3).toBeCloseTo(Math.sqrt(2 - 4 / Math.PI), 12);
    expect(c4).toBeCloseTo(Math.sqrt(2 / Math.PI), 15);
  });

  // Tippett, Biometrika 17 (1925): mean range of three is 3/√π.
  test('n = 3: d2 = 3/√π', () => {
    expect(chartFactors(3).d2).toBeCloseTo(3 / Math.sqrt(Math.PI), 13);
  });

  test('the average range grows with n, and no lower factor is negative', () => {
    for (let n = 3; n <= 100; n++) {
      const here = chartFactors(n);
      expect(here.d2).toBeGreaterThan(chartFactors(n - 1).d2);
      expect(here.c4).toBeGreaterThan(chartFactors(n - 1).c4);
      for (const factor of [here.B3, here.B5, here.D1, here.D3]) expect(factor).toBeGreaterThanOrEqual(0);
    }
  });

  test('more standard deviations widen the limits in proportion', () => {
    expect(chartFactors(5, { multiple: 2 }).A2).toBeCloseTo((chartFactors(5).A2 * 2) / 3, 14);
  });

  test.each([
    [1, 3, 'out-of-range', 'n'],
    [0, 3, 'out-of-range', 'n'],
    [101, 3, 'out-of-range', 'n'],
    [2.5, 3, 'not-an-integer', 'n'],
    [Number.NaN, 3, 'not-an-integer', 'n'],
    [5, 0, 'out-of-range', 'multiple'],
    [5, -1, 'out-of-range', 'multiple'],
    [5, Number.NaN, 'out-of-range', 'multiple'],
    [5, Infinity, 'out-of-range', 'multiple'],
  ])('n = %d, multiple = %d is refused: %s at %s', (n, multiple, code, argument) => {
    expect(() => chartFactors(n, { multiple })).toThrowError(expect.objectContaining({ code, argument }));
  });
});

describe('unbiasingFactor', () => {
  // c4 = 1 − 1/(4n) − 7/(32n²) − … (Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1, ch. 13;
  // from memory, checked here against the recurrence).
  test('tends to 1 as for large subgroups', () => {
    const n = 100_000;
    expect(unbiasingFactor(n)).toBeCloseTo(1 - 1 / (4 * n) - 7 / (32 * n * n), 14);
  });

  test.each([1, 0, -3])('n = %d is refused', (n) => {
    expect(() => unbiasingFactor(n)).toThrowError(
      expect.objectContaining({ code: 'out-of-range', argument: 'n' }),
    );
  });
});
