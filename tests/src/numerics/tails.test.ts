import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { betaLowerTail, betaQuantile, betaUpperTail } from '../../../src/numerics/beta.ts';
import { binomialLowerTail, binomialProbability, binomialUpperTail } from '../../../src/numerics/binomial.ts';
import {
  chiSquareLowerTail,
  chiSquareQuantile,
  chiSquareUpperTail,
} from '../../../src/numerics/chi-square.ts';
import { deviance, excessOverLog } from '../../../src/numerics/deviance.ts';
import { fLowerTail, fQuantile, fUpperTail } from '../../../src/numerics/f-distribution.ts';
import { gammaLowerTail, gammaQuantile, gammaUpperTail, logGamma } from '../../../src/numerics/gamma.ts';
import {
  hypergeometricLowerTail,
  hypergeometricProbability,
  hypergeometricUpperTail,
} from '../../../src/numerics/hypergeometric.ts';
import { normalUpperTail } from '../../../src/numerics/normal.ts';
import { poissonLowerTail, poissonProbability, poissonUpperTail } from '../../../src/numerics/poisson.ts';
import { studentTLowerTail, studentTQuantile, studentTUpperTail } from '../../../src/numerics/student-t.ts';

const relative = (actual: number, expected: number) => Math.abs(actual / expected - 1);
const shape = fc.double({ min: Math.log(0.05), max: Math.log(1e7), noNaN: true }).map(Math.exp);
const probability = fc.oneof(
  fc.double({ min: 1e-3, max: 0.999, noNaN: true }),
  fc.double({ min: -200, max: -3, noNaN: true }).map((exponent) => 10 ** exponent),
);

describe('tails', () => {
  test('of a quantile hold the probability that was asked for', () => {
    fc.assert(
      fc.property(probability, shape, shape, (p, a, b) => {
        // Rounding the quantile moves its tail by up to this much, more than the calculation itself does.
        const close = (tail: number, size: number) => {
          expect(relative(tail, p)).toBeLessThan(1e-12 + 4e-16 * Math.sqrt(size * 2000) * (p > 0.5 ? 2 : 1));
        };
        const x = gammaQuantile(p, a);
        if (x > 1e-290) close(gammaLowerTail(x, a), a);
        const value = fQuantile(p, 2 * a, 2 * b);
        if (value > 1e-290 && value < 1e290) close(fLowerTail(value, 2 * a, 2 * b), a + b);
        const t = studentTQuantile(p, a);
        if (Math.abs(t) < 1e300) close(studentTLowerTail(t, a), a);
        const y = betaQuantile(p, a, b);
        // Near 1 a number has no room for the digits of 1 − y.
        if (y > 1e-290 && y < 0.9) close(betaLowerTail(y, a, b), a + b);
      }),
      { numRuns: 300 },
    );
  });

  test('add up to one, and mirror', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.001, max: 0.999, noNaN: true }), shape, shape, (x, a, b) => {
        expect(betaLowerTail(x, a, b) + betaUpperTail(x, a, b)).toBeCloseTo(1, 13);
        expect(fLowerTail(3 * x, a, b) + fUpperTail(3 * x, a, b)).toBeCloseTo(1, 13);
        expect(gammaLowerTail(a * 2 * x, a) + gammaUpperTail(a * 2 * x, a)).toBeCloseTo(1, 13);
        const t = 8 * x - 4;
        expect(studentTLowerTail(t, a)).toBe(studentTUpperTail(-t, a));
        expect(studentTLowerTail(t, a) + studentTUpperTail(t, a)).toBeCloseTo(1, 14);
        const mirrored = fUpperTail(1 / (3 * x), b, a);
        expect(Math.abs(fLowerTail(3 * x, a, b) - mirrored)).toBeLessThan(1e-12 + 1e-9 * mirrored);
      }),
    );
  });

  test('never fall where they should rise, across every seam between two methods', () => {
    for (const a of [0.3, 0.999, 1, 1.0001, 5, 99.99, 100, 100.01, 3000]) {
      for (const b of [0.3, 0.999, 1, 8, 99.99, 100, 2000]) {
        let before = 0;
        for (let step = -60; step <= 60; step++) {
          const odds = (a / b) * Math.exp((step / 12) * Math.sqrt(1 / a + 1 / b));
          const now = betaLowerTail(odds / (1 + odds), a, b);
          expect(now).toBeGreaterThanOrEqual(before);
          before = now;
        }
      }
      let before = 0;
      for (let step = -60; step <= 60; step++) {
        const now = gammaLowerTail(a * Math.exp(step / 12 / Math.sqrt(a)), a);
        expect(now).toBeGreaterThanOrEqual(before);
        before = now;
      }
    }
  });

  test('join without a step where the method changes', () => {
    // The same tail by its two neighbouring methods differs no more than the parameter does.
    for (const x of [60, 99, 101, 160])
      expect(relative(gammaUpperTail(x, 100), gammaUpperTail(x, 100 - 1e-9))).toBeLessThan(2e-9);
    for (const x of [0.3, 0.5, 0.8])
      expect(relative(betaLowerTail(x, 100, 30), betaLowerTail(x, 100 - 1e-9, 30))).toBeLessThan(5e-9);
    expect(relative(gammaUpperTail(1.1, 0.6), gammaUpperTail(1.1 - 1e-12, 0.6))).toBeLessThan(1e-11);
  });

  test('have their simple forms', () => {
    for (const x of [1e-5, 0.2, 1, 3, 40, 600]) {
      expect(relative(gammaUpperTail(x, 1), Math.exp(-x))).toBeLessThan(1e-13);
      expect(relative(chiSquareUpperTail(x, 2), Math.exp(-x / 2))).toBeLessThan(1e-13);
      expect(relative(chiSquareLowerTail(x, 2), -Math.expm1(-x / 2))).toBeLessThan(1e-13);
      expect(relative(studentTUpperTail(x, 1), Math.atan(1 / x) / Math.PI)).toBeLessThan(1e-13);
      expect(relative(fUpperTail(x, 2, 2), 1 / (1 + x))).toBeLessThan(1e-13);
      expect(
        relative(studentTUpperTail(Math.min(x, 30), 1e15), normalUpperTail(Math.min(x, 30))),
      ).toBeLessThan(1e-9);
    }
    expect(relative(chiSquareQuantile(0.5, 2), 2 * Math.LN2)).toBeLessThan(1e-14);
    expect(relative(betaLowerTail(0.3, 1, 4), 1 - 0.7 ** 4)).toBeLessThan(1e-14);
    expect(studentTQuantile(0.5, 7)).toBe(0);
    // The tail of one degree of freedom is 1/(πt) far out; quantiles of half a degree leave the range of numbers.
    expect(relative(studentTUpperTail(1e200, 1), 1e-200 / Math.PI)).toBeLessThan(1e-12);
    expect(relative(studentTQuantile(1e-250, 1), -1e250 / Math.PI)).toBeLessThan(1e-12);
  });

  test('end where the distribution ends', () => {
    expect([gammaLowerTail(0, 2), gammaUpperTail(-1, 2), fLowerTail(0, 2, 3), fUpperTail(-1, 2, 3)]).toEqual([
      0, 1, 0, 1,
    ]);
    expect([
      betaLowerTail(0, 2, 3),
      betaLowerTail(1, 2, 3),
      betaUpperTail(0, 2, 3),
      betaUpperTail(1, 2, 3),
    ]).toEqual([0, 1, 1, 0]);
    expect(gammaQuantile(1e-300, 0.05)).toBe(0);
    expect(betaQuantile(1 - 1e-16, 3, 0.05)).toBe(1);
    expect(studentTUpperTail(0, 3)).toBe(0.5);
  });
});

describe('tails of counts', () => {
  test('sum the probabilities', () => {
    let [binomial, poisson, hypergeometric] = [0, 0, 0];
    for (let k = 0; k <= 12; k++) {
      expect(binomialUpperTail(k, 12, 0.3)).toBeCloseTo(1 - binomial, 14);
      expect(poissonUpperTail(k, 3.7)).toBeCloseTo(1 - poisson, 14);
      expect(hypergeometricUpperTail(k, 12, 15, 40)).toBeCloseTo(1 - hypergeometric, 14);
      binomial += binomialProbability(k, 12, 0.3);
      poisson += poissonProbability(k, 3.7);
      hypergeometric += hypergeometricProbability(k, 12, 15, 40);
      expect(binomialLowerTail(k, 12, 0.3)).toBeCloseTo(binomial, 14);
      expect(poissonLowerTail(k, 3.7)).toBeCloseTo(poisson, 14);
      expect(hypergeometricLowerTail(k, 12, 15, 40)).toBeCloseTo(hypergeometric, 14);
    }
  });

  test('end where the counts end', () => {
    expect([
      binomialLowerTail(-1, 5, 0.3),
      binomialLowerTail(5, 5, 0.3),
      binomialUpperTail(6, 5, 0.3),
    ]).toEqual([0, 1, 0]);
    expect([poissonLowerTail(-1, 2), poissonUpperTail(0, 2), poissonProbability(0, 2)]).toEqual([
      0,
      1,
      Math.exp(-2),
    ]);
    expect([
      binomialUpperTail(0, 5, 0.3),
      binomialProbability(5, 5, 0.5),
      binomialProbability(0, 5, 0.5),
    ]).toEqual([1, 1 / 32, 1 / 32]);
    // 30 drawn of 40 with 15 marked: at least 5 of them are marked.
    expect([hypergeometricLowerTail(4, 30, 15, 40), hypergeometricLowerTail(15, 30, 15, 40)]).toEqual([0, 1]);
    expect([hypergeometricUpperTail(5, 30, 15, 40), hypergeometricUpperTail(16, 30, 15, 40)]).toEqual([1, 0]);
    expect([
      hypergeometricProbability(0, 0, 3, 9),
      hypergeometricProbability(1, 4, 0, 9),
      hypergeometricProbability(3, 9, 3, 9),
      hypergeometricProbability(4, 4, 9, 9),
      hypergeometricProbability(3, 4, 9, 9),
      hypergeometricProbability(2, 9, 3, 9),
    ]).toEqual([1, 0, 1, 1, 0, 0]);
  });

  test('draws and marks may change places', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 60 }),
        fc.integer({ min: 1, max: 60 }),
        fc.integer({ min: 1, max: 60 }),
        (k, draws, marked) => {
          const total = 100;
          const [one, other] = [
            hypergeometricLowerTail(k, draws, marked, total),
            hypergeometricLowerTail(k, marked, draws, total),
          ];
          expect(Math.abs(one - other)).toBeLessThanOrEqual(1e-12 * one);
        },
      ),
    );
  });
});

describe('parts that nearly cancel', () => {
  test('x − ln(1 + x) follows its series, and has no seam', () => {
    for (const x of [1e-8, -1e-8, 1e-5, -1e-5])
      expect(relative(excessOverLog(x), x ** 2 / 2 - x ** 3 / 3 + x ** 4 / 4)).toBeLessThan(1e-15);
    for (const seam of [-0.4, 0.7]) {
      const slope = seam / (1 + seam);
      const step = excessOverLog(seam + 1e-10) - excessOverLog(seam - 1e-10);
      expect(Math.abs(step / (2e-10 * slope) - 1)).toBeLessThan(1e-5);
    }
    expect(deviance(3, 3)).toBe(0);
    expect(relative(deviance(4, 1), 4 * Math.log(4) - 3)).toBeLessThan(1e-15);
    expect(relative(deviance(1, 4), 3 - Math.log(4))).toBeLessThan(1e-15);
  });

  test('ln Γ has the factorials, and keeps its recurrence', () => {
    let factorial = 1;
    for (let n = 1; n <= 20; n++) {
      expect(logGamma(n)).toBeCloseTo(Math.log(factorial), 13);
      factorial *= n;
    }
    fc.assert(
      fc.property(fc.double({ min: 1e-3, max: 60, noNaN: true }), (x) => {
        expect(Math.abs(logGamma(x + 1) - logGamma(x) - Math.log(x))).toBeLessThan(3e-14 * Math.max(1, x));
      }),
    );
  });
});
