import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  meanInterval,
  meanSampleSize,
  meanTest,
  standardDeviationTest,
  twoSampleComparison,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { known } from '../known.ts';

const values = [10, 12, 9, 11, 13, 10.5];

describe('one sample', () => {
  test('mean: interval and test agree with an independent library', () => {
    // Source: ttest_1samp and t.interval of scipy 1.17.1.
    const two = known(meanTest(values, { hypothesizedMean: 10 }));
    expect(two.statistic).toBeCloseTo(1.5714285714285703, 12);
    expect(two.pValue).toBeCloseTo(0.17688561798905453, 13);
    expect(two.significant).toBe(false);
    const less = known(meanTest(values, { hypothesizedMean: 10, side: 'lower' }));
    expect(less.pValue).toBeCloseTo(0.9115571910054727, 13);
    expect(less.criticalValue).toBeLessThan(0);
    const more = known(meanTest(values, { hypothesizedMean: 10, side: 'upper', confidence: 0.9 }));
    expect(more.pValue).toBeCloseTo(1 - 0.9115571910054727, 13);
    expect(more.significant).toBe(true);
    const interval = meanInterval(values, { confidence: 0.9 });
    expect(interval.lower).toBeCloseTo(9.741221782222402, 12);
    expect(interval.upper).toBeCloseTo(12.09211155111093, 12);
    // A one-sided bound at 95 % is the end of the interval at 90 %.
    const bounds = meanInterval(values);
    expect(bounds.lowerBound).toBeCloseTo(interval.lower, 12);
    expect(bounds.upperBound).toBeCloseTo(interval.upper, 12);
    expect(bounds.lower).toBeLessThan(bounds.lowerBound);
  });

  test('standard deviation: test and interval agree with an independent library', () => {
    // Source: chi2 of scipy 1.17.1 at (n − 1) s²/σ².
    const upper = known(standardDeviationTest(values, { hypothesizedStandardDeviation: 1, side: 'upper' }));
    expect(upper.statistic).toBeCloseTo(10.208333333333336, 12);
    expect(upper.pValue).toBeCloseTo(0.06954289179144568, 13);
    expect(upper.lowerCriticalValue).toBeNull();
    expect(upper.lower).toBeCloseTo(0.8919114743563248, 12);
    expect(upper.upper).toBeCloseTo(3.504464137974096, 12);
    const lower = known(standardDeviationTest(values, { hypothesizedStandardDeviation: 1, side: 'lower' }));
    expect(lower.pValue).toBeCloseTo(0.9304571082085543, 13);
    expect(lower.upperCriticalValue).toBeNull();
    const two = known(standardDeviationTest(values, { hypothesizedStandardDeviation: 1 }));
    expect(two.pValue).toBeCloseTo(2 * 0.06954289179144568, 13);
    expect(two.significant).toBe(false);
    // The interval holds exactly the hypotheses that the two-sided test lets stand.
    const edge = known(standardDeviationTest(values, { hypothesizedStandardDeviation: two.lower }));
    expect(edge.pValue).toBeCloseTo(0.05, 12);
    expect(edge.statistic).toBeCloseTo(edge.upperCriticalValue!, 10);
  });

  test('readings and their summary give the same', () => {
    const { count, mean, standardDeviation } = meanInterval(values);
    expect(meanInterval({ count, mean, standardDeviation })).toEqual(meanInterval(values));
    expect(twoSampleComparison({ count, mean, standardDeviation }, [1, 2, 4])).toEqual(
      twoSampleComparison(values, [1, 2, 4]),
    );
  });

  test('no spread, no verdict', () => {
    expect(meanTest([5, 5, 5], { hypothesizedMean: 4 })).toMatchObject({
      available: false,
      reason: 'no-variation',
    });
    expect(standardDeviationTest([5, 5, 5], { hypothesizedStandardDeviation: 4 }).available).toBe(false);
    expect(meanInterval([5, 5, 5])).toMatchObject({ lower: 5, upper: 5 });
  });

  test.each([
    [() => meanInterval([1]), 'sample: '],
    [() => meanInterval([1, Number.NaN]), 'sample.1: '],
    [() => meanInterval({ count: 1, mean: 1, standardDeviation: 1 }), 'sample.count: '],
    [() => meanInterval({ count: 3, mean: Infinity, standardDeviation: 1 }), 'sample.mean: '],
    [() => meanInterval({ count: 3, mean: 1e61, standardDeviation: 1 }), 'sample.mean: '],
    [() => meanInterval({ count: 3, mean: 1, standardDeviation: -1 }), 'sample.standardDeviation: '],
    [() => meanInterval({ count: 3, mean: 1, standardDeviation: 1e-61 }), 'sample.standardDeviation: '],
    [() => meanInterval([1e61, 2e61]), 'sample: '],
    [() => meanInterval([1, 2], { confidence: 1 }), 'options.confidence: '],
    [() => meanTest([1, 2], { hypothesizedMean: Number.NaN }), 'options.hypothesizedMean: '],
    [() => meanTest([1, 2], { hypothesizedMean: -1e61 }), 'options.hypothesizedMean: '],
    [() => meanTest([1, 2], { hypothesizedMean: 0, side: 'left' as 'upper' }), 'options.side: '],
    [
      () => standardDeviationTest([1, 2], { hypothesizedStandardDeviation: 0 }),
      'options.hypothesizedStandardDeviation: ',
    ],
    [() => meanSampleSize({ shift: 0 }), 'options.shift: '],
    [() => meanSampleSize({ shift: 1, power: 0.4 }), 'options.power: '],
    [() => meanSampleSize({ shift: 1, confidence: 0.4 }), 'options.confidence: '],
    [() => meanSampleSize({ shift: 1, sides: 'both' as 'one-sided' }), 'options.sides: '],
  ])('refuses and names the field (%#)', (call, words) => {
    expect(call).toThrow(words);
  });

  test('a negative standard deviation is out of range', () => {
    expect(() => meanInterval({ count: 3, mean: 1, standardDeviation: -1 })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'sample.standardDeviation' }),
    );
  });
});

describe('sample size for a mean', () => {
  test('two-sided needs the larger quantile', () => {
    // (1.95996398 + 1.28155157)², quantiles by scipy 1.17.1.
    const { normalValue, normalSampleSize, sampleSize, refinedValue } = meanSampleSize({ shift: 1 });
    expect(normalValue).toBeCloseTo((1.95996398 + 1.28155157) ** 2, 6);
    expect(normalSampleSize).toBe(11);
    expect(sampleSize).toBe(Math.ceil(refinedValue));
    expect(refinedValue).toBeGreaterThan(normalValue);
    expect(meanSampleSize({ shift: 0.5 }).normalValue).toBeCloseTo(4 * normalValue, 10);
    expect(meanSampleSize({ shift: 100 }).sampleSize).toBeGreaterThanOrEqual(2);
  });

  test('the power is reached, by simulation', () => {
    const { sampleSize } = meanSampleSize({ shift: 1, sides: 'one-sided' });
    const source = randomSource(3);
    const runs = 1500;
    let noticed = 0;
    for (let run = 0; run < runs; run++) {
      const sample = Array.from({ length: sampleSize }, () => 1 + source.normal());
      if (known(meanTest(sample, { hypothesizedMean: 0, side: 'upper' })).significant) noticed++;
    }
    expect(noticed / runs).toBeGreaterThan(0.89);
    expect(noticed / runs).toBeLessThan(0.95);
  });
});

describe('two samples', () => {
  const sample = fc.array(
    fc.integer({ min: -500, max: 500 }).map((n) => n / 10),
    { minLength: 3, maxLength: 9 },
  );

  test('changing places turns the difference round', () => {
    fc.assert(
      fc.property(sample, sample, (first, second) => {
        const one = twoSampleComparison(first, second);
        const other = twoSampleComparison(second, first);
        if (!one.available || !other.available) return;
        expect(other.difference).toBeCloseTo(-one.difference, 12);
        expect(other.welch.lower).toBeCloseTo(-one.welch.upper, 9);
        expect(other.welch.pValue).toBeCloseTo(one.welch.pValue, 12);
        expect(other.pooled.statistic).toBeCloseTo(-one.pooled.statistic, 9);
        if (one.varianceRatio === null || other.varianceRatio === null) return;
        expect(other.varianceRatio.pValue).toBeCloseTo(one.varianceRatio.pValue, 11);
        expect(other.varianceRatio.lower * one.varianceRatio.upper).toBeCloseTo(1, 9);
      }),
    );
  });

  test('welch covers the difference with unequal spreads', () => {
    const source = randomSource(17);
    const runs = 1500;
    let held = 0;
    for (let run = 0; run < runs; run++) {
      const first = Array.from({ length: 6 }, () => 2 + 4 * source.normal());
      const second = Array.from({ length: 12 }, () => source.normal());
      const { lower, upper } = known(twoSampleComparison(first, second, { confidence: 0.9 })).welch;
      if (lower < 2 && 2 < upper) held++;
    }
    // Welch's degrees of freedom are an approximation, good to about a percent here.
    expect(Math.abs(held / runs - 0.9)).toBeLessThan(0.04);
  });

  test('a sample without spread leaves no ratio; two leave no answer', () => {
    const result = known(twoSampleComparison([1, 1, 1], [2, 3, 4]));
    expect(result.varianceRatio).toBeNull();
    expect(result.welch.degreesOfFreedom).toBe(2);
    expect(twoSampleComparison([1, 1], [2, 2])).toMatchObject({ available: false, reason: 'no-variation' });
  });

  test('says in words what it found', () => {
    expect(known(twoSampleComparison([1, 2, 3], [11, 12, 13])).message).toContain('look for what changed');
    expect(known(twoSampleComparison([1, 2, 3], [1.1, 2.2, 3])).message).toContain(
      'does not prove them equal',
    );
    expect(() => twoSampleComparison([1, 2], [1, Infinity])).toThrow('second.1: ');
    expect(() => twoSampleComparison([1, 2], [1, 3], { confidence: 0 })).toThrow('options.confidence: ');
  });
});
