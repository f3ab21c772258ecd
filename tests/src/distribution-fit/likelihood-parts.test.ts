import { describe, expect, it } from 'vitest';
import { logMinusDigamma } from '../../../src/distribution-fit/log-minus-digamma.ts';
import { logRatio } from '../../../src/distribution-fit/logs-of.ts';
import { momentsOf, unitOf } from '../../../src/distribution-fit/moments-of.ts';
import { fitDistribution } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

describe('ln k − ψ(k)', () => {
  // mpmath 1.4.1, 60 digits.
  it.each([
    [0.001, 993.6678166528282, 1.00536781587],
    [0.5, 1.2703628454614782, 1.15510391816],
    [1, 0.5772156649015329, 1.11731906472],
    [5, 0.1033202440022999, 1.03188663282],
    [11.9, 0.04260486323494625, 1.01378319003],
    [12, 0.0422449698121883, 1.01367037665],
    [1e6, 5.000000833333333e-7, 1.00000016667],
    [1e20, 5.0e-21, 1.0],
  ])('at k = %f', (k, value, slope) => {
    const result = logMinusDigamma(k);
    expect(result.value / value).toBeCloseTo(1, 13);
    expect(result.slope / slope).toBeCloseTo(1, 8);
  });
});

describe('moments', () => {
  it('keep their digits far from zero, and in huge and tiny units', () => {
    // 1, 2, 4: mean 7/3, sum of squares 14/3.
    for (const [shift, unit] of [
      [0, 1],
      [1e8, 1],
      [0, 1e300],
      [0, 1e-300],
    ] as const) {
      const { mean, rootMeanSquare, standardDeviation } = momentsOf([1, 2, 4].map((x) => (x + shift) * unit));
      expect((mean / unit - shift) / (7 / 3)).toBeCloseTo(1, 8);
      expect(rootMeanSquare / unit / Math.sqrt(14 / 9)).toBeCloseTo(1, 12);
      expect(standardDeviation / unit / Math.sqrt(7 / 3)).toBeCloseTo(1, 12);
    }
    expect(momentsOf([3])).toEqual({ mean: 3, rootMeanSquare: 0, standardDeviation: 0 });
  });

  it('choose a power of two as unit', () => {
    expect(unitOf([3, -9, 2])).toBe(8);
    expect(unitOf([0, 0])).toBe(1);
    expect(unitOf([Number.MAX_VALUE])).toBe(2 ** 1023);
    expect(unitOf([5e-324])).toBe(2 ** -1022);
  });

  it('take logarithms of ratios near 1 to all digits', () => {
    expect(logRatio(1000 + 2 ** -30, 1000) / (2 ** -30 / 1000)).toBeCloseTo(1, 12);
    expect(logRatio(1e-300, 1e300)).toBeCloseTo(-600 * Math.LN10, 10);
    expect(logRatio(8, 2)).toBeCloseTo(2 * Math.LN2, 15);
  });
});

describe('the folded normal fit', () => {
  it('finds the largest of several peaks: no better place on a fine grid', () => {
    const random = randomSource(3);
    for (let sample = 0; sample < 60; sample++) {
      const centre = 4 * random.uniform();
      const values = Array.from({ length: 4 + (sample % 10) }, () =>
        Math.abs(centre + random.normal() * (random.uniform() < 0.2 ? 5 : 1)),
      );
      const fitted = fitDistribution(values, { distribution: 'folded-normal' });
      if (!fitted.available) throw new Error(fitted.message);
      const square = values.reduce((sum, x) => sum + x * x, 0) / values.length;
      // Plain formula of the likelihood, sigma following mu.
      for (let share = 0; share < 1; share += 0.01) {
        const mu = share * Math.sqrt(square);
        const variance = square - mu * mu;
        const there = values.reduce(
          (sum, x) =>
            sum +
            Math.log(
              Math.exp(-((x - mu) ** 2) / (2 * variance)) + Math.exp(-((x + mu) ** 2) / (2 * variance)),
            ) -
            Math.log(2 * Math.PI * variance) / 2,
          0,
        );
        expect(there).toBeLessThan(fitted.logLikelihood + 1e-9);
      }
    }
  });
});
