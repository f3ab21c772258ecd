import { describe, expect, it } from 'vitest';
import { newtonRoot } from '../../../src/numerics/newton-root.ts';

describe('newtonRoot', () => {
  it('finds the root of an increasing function from either side', () => {
    const cube = (x: number) => ({ value: x ** 3 - 5, slope: 3 * x * x });
    for (const start of [-40, 0, 1.7, 300]) expect(newtonRoot(cube, start, 10)).toBeCloseTo(Math.cbrt(5), 14);
    expect(newtonRoot(cube, 300)).toBeNull();
  });

  it('stays between what it has seen where Newton steps overshoot', () => {
    const steep = (x: number) => ({
      value: Math.atan(20 * (x - 0.3)),
      slope: 20 / (1 + (20 * (x - 0.3)) ** 2),
    });
    expect(newtonRoot(steep, 3)).toBeCloseTo(0.3, 14);
    expect(newtonRoot(steep, -3, 0.25)).toBeCloseTo(0.3, 14);
  });

  it('goes on over a flat stretch in the direction of the sign', () => {
    const flat = (x: number) => ({ value: x < 5 ? -1 : x - 5.5, slope: x < 5 ? 0 : 1 });
    expect(newtonRoot(flat, 0)).toBeCloseTo(5.5, 14);
    const flatAbove = (x: number) => ({ value: x > -5 ? 1 : x + 5.5, slope: x > -5 ? 0 : 1 });
    expect(newtonRoot(flatAbove, 0)).toBeCloseTo(-5.5, 14);
  });

  it('returns the start where it is the root, and a root where rounding makes the function jump', () => {
    expect(newtonRoot((x) => ({ value: x - 2, slope: 1 }), 2)).toBe(2);
    const coarse = (x: number) => ({ value: Math.round((x - 1 / 3) * 1e12) / 1e12 + 1e-13, slope: 1 });
    expect(newtonRoot(coarse, 0)).toBeCloseTo(1 / 3, 11);
  });
});
