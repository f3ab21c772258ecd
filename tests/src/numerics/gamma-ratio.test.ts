import { describe, expect, test } from 'vitest';
import { halfStepGammaRatio } from '../../../src/numerics/gamma-ratio.ts';

describe('halfStepGammaRatio', () => {
  // From the definition: Γ(1) = 1, Γ(1/2) = √π, Γ(3/2) = √π/2, Γ(2) = 1, Γ(5/2) = 3√π/4.
  test.each([
    [2, 1 / Math.sqrt(Math.PI)],
    [3, Math.sqrt(Math.PI) / 2],
    [4, 2 / Math.sqrt(Math.PI)],
    [5, (3 * Math.sqrt(Math.PI)) / 4],
  ])('n = %i', (n, exact) => {
    expect(Math.abs(halfStepGammaRatio(n) / exact - 1)).toBeLessThan(1e-15);
  });

  // g(n)·g(n + 1) = (n − 1)/2 ties recurrence and series together where one hands over to the other.
  test.each([399, 400, 401, 1000, 1_000_000])('recurrence holds at n = %i', (n) => {
    const product = halfStepGammaRatio(n) * halfStepGammaRatio(n + 1);
    expect(Math.abs(product / ((n - 1) / 2) - 1)).toBeLessThan(1e-14);
  });
});
