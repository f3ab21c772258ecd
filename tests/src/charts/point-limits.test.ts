import { describe, expect, test } from 'vitest';
import { chartFactors, pointLimits } from '../../../src/index.ts';

const standard = { mean: 10, withinSubgroupStandardDeviation: 0.2, meanStandardDeviation: null };

describe('pointLimits', () => {
  test('agree with the published factors at every size', () => {
    for (const n of [2, 5, 7, 25]) {
      const { A, B5, B6, D1, D2, d2, c4 } = chartFactors(n);
      const { location, spread } = pointLimits('mean-range', standard, n);
      expect(location!.upperControlLimit).toBeCloseTo(10 + A * 0.2, 12);
      expect(location!.lowerControlLimit).toBeCloseTo(10 - A * 0.2, 12);
      expect(spread!.centerLine).toBeCloseTo(d2 * 0.2, 12);
      expect(spread!.upperControlLimit).toBeCloseTo(D2 * 0.2, 12);
      expect(spread!.lowerControlLimit ?? 0).toBeCloseTo(D1 * 0.2, 12);
      const deviation = pointLimits('mean-standard-deviation', standard, n).spread!;
      expect(deviation.centerLine).toBeCloseTo(c4 * 0.2, 12);
      expect(deviation.upperControlLimit).toBeCloseTo(B6 * 0.2, 12);
      expect(deviation.lowerControlLimit ?? 0).toBeCloseTo(B5 * 0.2, 12);
    }
  });

  test('a limit at or below the natural bound does not exist', () => {
    const near = { ...standard, mean: 0.25 };
    expect(pointLimits('mean-range', near, 4).location!.lowerControlLimit).toBeCloseTo(-0.05, 12);
    expect(pointLimits('mean-range', near, 4, { lowerNaturalBound: 0 }).location).toMatchObject({
      lowerControlLimit: null,
      upperControlLimit: 0.55,
    });
    expect(
      pointLimits('mean-range', near, 4, { upperNaturalBound: 0.5 }).location!.upperControlLimit,
    ).toBeNull();
    expect(pointLimits('mean-range', near, 4).spread!.lowerControlLimit).toBeNull();
  });

  test('a size without a statistic has no limits for it', () => {
    expect(pointLimits('mean-range', standard, 0)).toEqual({ location: null, spread: null });
    expect(pointLimits('mean-range', standard, 1).spread).toBeNull();
    expect(pointLimits('mean-range', standard, 1).location!.standardDeviation).toBe(0.2);
    expect(pointLimits('individuals-moving-range', standard, 1).spread).not.toBeNull();
  });

  test('means that move by themselves have their own standard deviation, at any size', () => {
    const moving = { ...standard, meanStandardDeviation: 0.5 };
    for (const size of [1, 3, 9]) {
      const { location, spread } = pointLimits('mean-range', moving, size);
      expect(location).toMatchObject({ standardDeviation: 0.5, upperControlLimit: 11.5 });
      expect(spread).toEqual(pointLimits('mean-range', standard, size).spread);
    }
  });

  test.each([
    [{ ...standard, mean: Number.NaN }, 4, {}, 'not-finite', 'standard.mean'],
    [
      { ...standard, withinSubgroupStandardDeviation: Infinity },
      4,
      {},
      'not-finite',
      'standard.withinSubgroupStandardDeviation',
    ],
    [
      { ...standard, withinSubgroupStandardDeviation: -1 },
      4,
      {},
      'out-of-range',
      'standard.withinSubgroupStandardDeviation',
    ],
    [{ ...standard, meanStandardDeviation: -1 }, 4, {}, 'out-of-range', 'standard.meanStandardDeviation'],
    [{ ...standard, withinSubgroupStandardDeviation: 1e308 }, 4, {}, 'out-of-range', 'standard'],
    [standard, 2.5, {}, 'not-an-integer', 'size'],
    [standard, Number.NaN, {}, 'not-an-integer', 'size'],
    [standard, -1, {}, 'out-of-range', 'size'],
    [standard, 101, {}, 'out-of-range', 'size'],
    [standard, 4, { multiple: 0 }, 'out-of-range', 'options.multiple'],
    [
      standard,
      4,
      { lowerNaturalBound: 5, upperNaturalBound: 5 },
      'limits-reversed',
      'options.lowerNaturalBound',
    ],
    [standard, 4, { lowerNaturalBound: Number.NaN }, 'not-finite', 'options.lowerNaturalBound'],
  ])('case %#: %j, size %d, %j is refused: %s at %s', (given, size, options, code, argument) => {
    expect(() => pointLimits('mean-range', given, size, options)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });

  test('individuals have one reading a point, and kinds have names', () => {
    expect(() => pointLimits('individuals-moving-range', standard, 2)).toThrowError(
      expect.objectContaining({ code: 'out-of-range', argument: 'size' }),
    );
    expect(() => pointLimits('mean-median' as never, standard, 2)).toThrowError(
      expect.objectContaining({ code: 'unknown-name', argument: 'kind' }),
    );
  });
});
