import { describe, expect, test } from 'vitest';
import { minimize, minimizeScalar } from '../../../src/numerics/minimize.ts';

describe('minimize', () => {
  test('walks a bent valley to its end', () => {
    // Source of the function: H. H. Rosenbrock, The Computer Journal 3 (1960) 175; its minimum 0 lies at (1, 1).
    const { point, value, converged } = minimize(
      ([x, y]) => 100 * (y! - x! * x!) ** 2 + (1 - x!) ** 2,
      [-1.2, 1],
      [0.1, 0.1],
    );
    expect(converged).toBe(true);
    expect(value).toBeLessThan(1e-20);
    expect(point[0]).toBeCloseTo(1, 9);
    expect(point[1]).toBeCloseTo(1, 9);
  });

  test('finds a minimum in one, three and six dimensions', () => {
    for (const size of [1, 3, 6]) {
      const { point, converged } = minimize(
        (p) => 1 + p.reduce((sum, x, k) => sum + (k + 1) * (x - k) ** 2, 0),
        new Array(size).fill(5),
        new Array(size).fill(1),
      );
      expect(converged).toBe(true);
      point.forEach((x, k) => {
        expect(x).toBeCloseTo(k, 6);
      });
    }
  });

  test('turns back where the function ends', () => {
    const { point } = minimize(([x]) => (x! > 0 ? x! - Math.log(x!) : Number.NaN), [4], [-3]);
    expect(point[0]).toBeCloseTo(1, 6);
  });

  test('says so where there is no minimum', () => {
    expect(minimize(([x, y]) => -x! - y!, [0, 0], [1, 1]).converged).toBe(false);
  });
});

describe('minimizeScalar', () => {
  test('finds the least point', () => {
    const { point, value, converged } = minimizeScalar((x) => Math.cosh(x - 1.234567) + 2, -5, 10);
    expect(point).toBeCloseTo(1.234567, 6);
    expect(value).toBe(3);
    expect(converged).toBe(true);
    expect(minimizeScalar((x) => Math.abs(x - 3), 0, 10).point).toBeCloseTo(3, 7);
    expect(minimizeScalar((x) => -Math.exp(-x * x * 50), -7, 1).point).toBeCloseTo(0, 6);
  });

  test('goes to the end where the function falls all the way', () => {
    expect(minimizeScalar((x) => x, 2, 3).point).toBeCloseTo(2, 7);
    expect(minimizeScalar((x) => -x, 2, 3).point).toBeCloseTo(3, 7);
  });
});
