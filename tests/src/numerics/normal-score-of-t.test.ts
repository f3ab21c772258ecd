import { expect, test } from 'vitest';
import { normalQuantile } from '../../../src/numerics/normal.ts';
import { normalScoreOfT } from '../../../src/numerics/normal-score-of-t.ts';
import { studentTLowerTail } from '../../../src/numerics/student-t.ts';

// mpmath 1.4.1, 40 digits: root of log erfc(z/√2) − log of the regularised incomplete beta function.
test.each([
  [0.01, 1000, 0.009997500062973867],
  [3, 1000, 2.992535040092527],
  [12, 1000, 11.595878505859568],
  [7.5, 4000, 7.473365218768278],
])('t = %f with %f degrees of freedom', (t, degreesOfFreedom, z) => {
  expect(Math.abs(normalScoreOfT(t, degreesOfFreedom) / z - 1)).toBeLessThan(5e-15);
});

test('meets the way over the tails, for any t', () => {
  for (let t = 0.25; t < 12; t += 0.5) {
    const z = -normalQuantile(studentTLowerTail(-t, 2500));
    expect(Math.abs(normalScoreOfT(t, 2500) / z - 1)).toBeLessThan(1e-12);
  }
  expect(normalScoreOfT(0, 2500)).toBe(0);
});
