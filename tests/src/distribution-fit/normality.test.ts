import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  andersonDarling,
  andersonDarlingPValue,
  shapiroWilk,
  skewnessAndKurtosis,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

const values = [17.904, 17.294, 18.24, 17.346, 21.024, 18.3, 17.9, 19.2];

function w(data: readonly number[]): number {
  const result = shapiroWilk(data);
  if (!result.available) throw new Error(result.message);
  return result.statistic;
}

function shape(data: readonly number[]) {
  const result = skewnessAndKurtosis(data);
  if (!result.available) throw new Error(result.message);
  return result;
}

function normalSamples(count: number, size: number): number[][] {
  const random = randomSource(42);
  return Array.from({ length: count }, () => Array.from({ length: size }, () => 20 + 2 * random.normal()));
}

describe('shapiroWilk', () => {
  it('does not depend on order, unit, origin or direction', () => {
    const expected = w(values);
    expect(w([...values].reverse())).toBe(expected);
    expect(w(values.map((value) => value * 1e-200))).toBeCloseTo(expected, 12);
    expect(w(values.map((value) => value * 1e200))).toBeCloseTo(expected, 12);
    expect(w(values.map((value) => value + 1024))).toBeCloseTo(expected, 10);
    expect(w(values.map((value) => -value))).toBeCloseTo(expected, 12);
  });

  it('stays between 0 and 1, with a probability', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -50, max: 50 }), { minLength: 3, maxLength: 60 }), (data) => {
        const result = shapiroWilk(Object.freeze(data));
        if (!result.available) return expect(new Set(data).size).toBe(1);
        expect(result.statistic).toBeGreaterThan(0);
        expect(result.statistic).toBeLessThanOrEqual(1);
        expect(result.pValue).toBeGreaterThanOrEqual(0);
        expect(result.pValue).toBeLessThanOrEqual(1);
      }),
    );
  });

  it.each([
    [3, 2000],
    [8, 2000],
    [11, 2000],
    [12, 2000],
    [50, 1000],
  ])('rejects one in twenty samples of %i normal values', (size, count) => {
    const rejected = normalSamples(count, size).filter((sample) => {
      const result = shapiroWilk(sample);
      return result.available && result.pValue < 0.05;
    }).length;
    // Four standard errors of a share of 0.05.
    expect(Math.abs(rejected / count - 0.05)).toBeLessThan(4 * Math.sqrt((0.05 * 0.95) / count));
  });

  it('knows three values exactly: p = 6/π (arcsin √W − π/3)', () => {
    // W of 0, 0, 1 is 0.75, the least that three values can have.
    expect(shapiroWilk([0, 0, 1])).toMatchObject({
      statistic: expect.closeTo(0.75, 14),
      pValue: expect.closeTo(0, 7),
    });
    expect(shapiroWilk([1, 2, 3])).toMatchObject({
      statistic: expect.closeTo(1, 14),
      pValue: expect.closeTo(1, 6),
    });
  });

  it('calls a sample below the reach of the approximation impossible', () => {
    expect(shapiroWilk([0, 0, 0, 0, 0, 1e6])).toMatchObject({ pValue: expect.closeTo(0, 4) });
    expect(shapiroWilk([1, 2, 3, 4, 5, 1e9])).toMatchObject({ available: true });
  });

  it('has no answer outside its range, and says why', () => {
    expect(shapiroWilk([1, 2])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(shapiroWilk([])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(shapiroWilk([5, 5, 5])).toMatchObject({ available: false, reason: 'no-variation' });
    const many = Array.from({ length: 5001 }, (_, index) => index);
    expect(shapiroWilk(many)).toMatchObject({ available: false, reason: 'outside-method' });
    expect(shapiroWilk(many.slice(1)).available).toBe(true);
    expect(() => shapiroWilk([1, 2, Infinity])).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'values.2' }),
    );
  });
});

describe('skewnessAndKurtosis', () => {
  it('knows small samples by hand', () => {
    // 0, 0, 1: m2 = 2/9, m3 = 2/27, g1 = 1/√2, G1 = g1 √6 = √3.
    expect(skewnessAndKurtosis([0, 0, 1])).toMatchObject({
      skewness: expect.closeTo(Math.sqrt(3), 14),
      excessKurtosis: null,
    });
    // 0, 0, 1, 1: g2 = −2, G2 = 3/2 · (5 · −2 + 6) = −6.
    expect(skewnessAndKurtosis([0, 0, 1, 1])).toMatchObject({
      skewness: expect.closeTo(0, 14),
      excessKurtosis: expect.closeTo(-6, 13),
    });
  });

  it('turns over with the sign, and does not depend on unit, origin or order', () => {
    const expected = shape(values);
    const mirrored = shape(values.map((value) => 40 - value));
    expect(mirrored.skewness).toBeCloseTo(-expected.skewness, 10);
    expect(mirrored.excessKurtosis).toBeCloseTo(expected.excessKurtosis!, 10);
    for (const unit of [1e-200, 1e200])
      expect(shape([...values].reverse().map((value) => value * unit)).skewness).toBeCloseTo(
        expected.skewness,
        10,
      );
  });

  it('tests from 20 values on', () => {
    const [sample] = normalSamples(1, 20);
    expect(shape(sample!.slice(1)).omnibus).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(shape(sample!.slice(1)).message).toContain('at least 20');
    expect(shape(sample!).omnibus.available).toBe(true);
  });

  it('rejects about one in twenty samples of normal values', () => {
    const rejected = normalSamples(2000, 60).filter((sample) => {
      const { omnibus } = shape(sample);
      return omnibus.available && omnibus.pValue < 0.05;
    }).length;
    // K² is known to reject a little too often at this size: 5.5 to 6 % (simulated elsewhere, cited from memory).
    expect(rejected / 2000).toBeGreaterThan(0.04);
    expect(rejected / 2000).toBeLessThan(0.075);
  });

  it('has no answer without variation or with too few values', () => {
    expect(skewnessAndKurtosis([1, 2])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(skewnessAndKurtosis([2, 2, 2])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(() => skewnessAndKurtosis([1, Number.NaN])).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'values.1' }),
    );
  });
});

describe('what a test of normality says', () => {
  const message = (data: readonly number[]) => {
    const result = andersonDarling(data);
    if (!result.available) throw new Error(result.message);
    return result.message;
  };
  const even = (n: number) => Array.from({ length: n }, (_, index) => index);

  it('a small sample that passes is no proof', () => {
    expect(message(normalSamples(1, 49)[0]!)).toMatch(
      /Nothing speaks against .* But 49 values see only gross/,
    );
  });
  it('a larger one says nothing of the tails', () => {
    expect(message(normalSamples(1, 50)[0]!)).toMatch(
      /Nothing speaks against .*the tail beyond the outermost/,
    );
  });
  it('a rejection asks for mixed streams first', () => {
    expect(message(even(300).map((x) => x ** 3))).toMatch(/below 0\.0001: .* Look first for mixed streams/);
    expect(message([...even(20), 45])).toMatch(/Normal values would look this odd with a chance of 0\.0\d+/);
  });
  it('a large sample rejects for trifles', () => {
    expect(message(even(301))).toMatch(/But 301 values reject for trifles too/);
  });
});

describe('andersonDarlingPValue', () => {
  it('meets itself at the joints, falls, and ends at 0', () => {
    for (const joint of [0.2, 0.34, 0.6])
      expect(
        Math.abs(andersonDarlingPValue(joint - 1e-9) - andersonDarlingPValue(joint + 1e-9)),
      ).toBeLessThan(0.004);
    let previous = 1;
    for (let a = 0; a <= 13; a += 0.01) {
      const p = andersonDarlingPValue(a);
      expect(p).toBeLessThanOrEqual(previous + 0.004);
      previous = p;
    }
    expect(andersonDarlingPValue(13)).toBeGreaterThan(0);
    expect(andersonDarlingPValue(13.01)).toBe(0);
    expect(() => andersonDarlingPValue(-0.1)).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'a' }),
    );
    expect(() => andersonDarlingPValue(Number.NaN)).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'a' }),
    );
  });
});

it('a thousand million in front of the digits costs none of them', () => {
  // Values as doubles hold them, moments and A² in 40 digits with mpmath 1.4.1.
  const far = [
    999999999.94, 999999999.42, 999999999.37, 1000000001.6, 1000000000.51, 1000000000.07, 999999999.65,
    999999998.89,
  ];
  expect(shape(far).skewness).toBeCloseTo(1.1071319392603687, 11);
  expect(shape(far).excessKurtosis).toBeCloseTo(1.605371137127812, 11);
  const result = andersonDarling(far);
  expect(result.available && result.statistic).toBeCloseTo(0.30841543404618044, 11);
});
