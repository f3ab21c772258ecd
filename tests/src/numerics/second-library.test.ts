/**
 * The distributions of src/numerics against a general-purpose library that was written independently: jstat 1.9, in
 * the middle of each distribution, where it is accurate. Far tails are checked against 30 to 50
 * digit arithmetic instead (tests/reference/distributions.json).
 */
import fc from 'fast-check';
import jStat from 'jstat';
import { expect, test } from 'vitest';
import { betaLowerTail, betaQuantile } from '../../../src/numerics/beta.ts';
import { binomialLowerTail } from '../../../src/numerics/binomial.ts';
import { chiSquareLowerTail, chiSquareQuantile } from '../../../src/numerics/chi-square.ts';
import { fLowerTail, fQuantile } from '../../../src/numerics/f-distribution.ts';
import { gammaLowerTail, gammaQuantile } from '../../../src/numerics/gamma.ts';
import { noncentralTCumulative } from '../../../src/numerics/noncentral-t.ts';
import { poissonLowerTail } from '../../../src/numerics/poisson.ts';
import { studentTLowerTail, studentTQuantile } from '../../../src/numerics/student-t.ts';
import { rangeUpperTail } from '../../../src/samples/range-distribution.ts';

const probability = fc.double({ min: 0.001, max: 0.999, noNaN: true });
const freedom = fc.integer({ min: 1, max: 60 });
const shape = fc.integer({ min: 2, max: 60 }).map((halves) => halves / 2);

/** Both to 1e-6 of the larger: what jstat reaches everywhere in these ranges; mostly it is 1e-9. */
function agree(ours: number, theirs: number): void {
  expect(Math.abs(ours - theirs)).toBeLessThanOrEqual(
    1e-6 * Math.max(Math.abs(ours), Math.abs(theirs), 1e-3),
  );
}

test('chi-square', () => {
  fc.assert(
    fc.property(probability, freedom, (p, df) => {
      const value = chiSquareQuantile(p, df);
      agree(value, jStat.chisquare.inv(p, df));
      agree(chiSquareLowerTail(value, df), jStat.chisquare.cdf(value, df));
    }),
  );
});

test('Student t', () => {
  fc.assert(
    fc.property(probability, freedom, (p, df) => {
      const value = studentTQuantile(p, df);
      agree(value, jStat.studentt.inv(p, df));
      agree(studentTLowerTail(value, df), jStat.studentt.cdf(value, df));
    }),
  );
});

test('beta and F', () => {
  fc.assert(
    fc.property(probability, shape, shape, (p, a, b) => {
      agree(betaQuantile(p, a, b), jStat.beta.inv(p, a, b));
      agree(betaLowerTail(p, a, b), jStat.beta.cdf(p, a, b));
      agree(fQuantile(p, 2 * a, 2 * b), jStat.centralF.inv(p, 2 * a, 2 * b));
      agree(fLowerTail(4 * p, 2 * a, 2 * b), jStat.centralF.cdf(4 * p, 2 * a, 2 * b));
    }),
  );
});

test('gamma, Poisson and binomial', () => {
  fc.assert(
    fc.property(probability, shape, fc.integer({ min: 0, max: 40 }), (p, a, count) => {
      agree(gammaQuantile(p, a), jStat.gamma.inv(p, a, 1));
      agree(gammaLowerTail(a * 2 * p, a), jStat.gamma.cdf(a * 2 * p, a, 1));
      agree(poissonLowerTail(count, a), jStat.poisson.cdf(count, a));
      agree(binomialLowerTail(count, 40, p), jStat.binomial.cdf(count, 40, p));
    }),
  );
});

test('noncentral t', () => {
  fc.assert(
    fc.property(probability, fc.integer({ min: 4, max: 40 }), (p, df) => {
      agree(noncentralTCumulative(8 * p, df, 3), jStat.noncentralt.cdf(8 * p, df, 3));
    }),
    { numRuns: 40 },
  );
});

test('range of a normal sample, as a studentized range with a standard deviation that is known', () => {
  for (const n of [2, 3, 5, 8])
    for (const width of [1, 2.5, 4]) {
      // jstat takes degrees of freedom above 25000 for infinitely many, and is accurate to about 1e-8 there.
      expect(Math.abs(1 - rangeUpperTail(width, n) - jStat.tukey.cdf(width, n, 30_000))).toBeLessThan(1e-6);
    }
});
