import { expect, test } from 'vitest';
import { normalLowerTail } from '../../../src/numerics/normal.ts';
import { randomSource } from '../../../src/numerics/random.ts';

test('the same seed gives the same numbers, another seed others', () => {
  const draw = (seed: number) => {
    const source = randomSource(seed);
    return [source.uniform(), source.normal(), source.normal(), source.uniform()];
  };
  expect(draw(7)).toEqual(draw(7));
  expect(draw(7)).not.toEqual(draw(8));
  expect(draw(7)).not.toEqual(draw(7.5));
});

test('uniform and normal numbers have their distributions', () => {
  const source = randomSource(2026);
  const count = 40_000;
  // Kolmogorov's distance of a fitting sample stays below 1.95/√n in 999 of 1000 cases.
  const distance = (fractions: number[]) => {
    fractions.sort((a, b) => a - b);
    return Math.max(...fractions.map((fraction, k) => Math.abs(fraction - (k + 0.5) / count)));
  };
  const uniform = Array.from({ length: count }, () => source.uniform());
  const normal = Array.from({ length: count }, () => source.normal());
  let neighbours = 0;
  for (let k = 1; k < count; k++) neighbours += normal[k]! * normal[k - 1]!;
  expect(Math.abs(neighbours / count)).toBeLessThan(4 / Math.sqrt(count));
  expect(Math.min(...uniform)).toBeGreaterThan(0);
  expect(Math.max(...uniform)).toBeLessThan(1);
  expect(distance(uniform)).toBeLessThan(1.95 / Math.sqrt(count));
  expect(distance(normal.map(normalLowerTail))).toBeLessThan(1.95 / Math.sqrt(count));
});
