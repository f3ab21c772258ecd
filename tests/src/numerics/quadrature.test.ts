import { describe, expect, test } from 'vitest';
import { gaussLegendreRule } from '../../../src/numerics/quadrature.ts';

const integrate = (count: number, from: number, to: number, f: (x: number) => number) => {
  const { nodes, weights } = gaussLegendreRule(count, from, to);
  return nodes.reduce((sum, x, i) => sum + weights[i]! * f(x), 0);
};

describe('gaussLegendreRule', () => {
  // Abramowitz and Stegun, table 25.4, n = 3: nodes 0 and ±0.774596669241483, weights 8/9 and 5/9.
  test('is the published three-point rule', () => {
    const { nodes, weights } = gaussLegendreRule(3, -1, 1);
    expect(nodes[0]).toBeCloseTo(-0.774596669241483, 14);
    expect(nodes[1]).toBeCloseTo(0, 14);
    expect(weights[0]).toBeCloseTo(5 / 9, 14);
    expect(weights[1]).toBeCloseTo(8 / 9, 14);
  });

  test('is exact for polynomials up to degree 2n − 1, and not beyond', () => {
    expect(integrate(4, 0, 2, (x) => x ** 7)).toBeCloseTo(32, 12);
    expect(Math.abs(integrate(4, 0, 2, (x) => x ** 8) - 512 / 9)).toBeGreaterThan(1e-3);
  });

  test('reaches the digits of a double on a smooth function', () => {
    expect(integrate(96, 0, 14, (x) => Math.exp(-x))).toBeCloseTo(-Math.expm1(-14), 14);
  });
});
