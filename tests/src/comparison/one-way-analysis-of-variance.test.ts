import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { differencesOfMeans, oneWayAnalysisOfVariance, twoSampleComparison } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { known } from '../known.ts';

const reading = fc.integer({ min: -2000, max: 2000 }).map((n) => n / 100);
const groups = fc
  .array(fc.array(reading, { minLength: 2, maxLength: 8 }), { minLength: 2, maxLength: 5 })
  .filter((lists) => lists.some((list) => list.some((value) => value !== list[0])));

const resistors = [
  [6.9, 5.4, 5.8, 4.6, 4.0],
  [8.3, 6.8, 7.8, 9.2, 6.5],
  [8.0, 10.5, 8.1, 6.9, 9.3],
];

describe('one-way analysis of variance', () => {
  test('follows a change of unit and of origin', () => {
    fc.assert(
      fc.property(
        groups,
        fc.constantFrom(0.001, 1000, -25.4),
        fc.integer({ min: -50, max: 50 }),
        (lists, scale, shift) => {
          const one = known(oneWayAnalysisOfVariance(lists));
          const other = known(
            oneWayAnalysisOfVariance(lists.map((list) => list.map((value) => (value + shift) * scale))),
          );
          expect(other.fRatio).toBeCloseTo(one.fRatio, 7);
          expect(other.pValue).toBeCloseTo(one.pValue, 8);
          expect(other.rSquared).toBeCloseTo(one.rSquared, 10);
          expect(other.residualStandardDeviation / Math.abs(scale)).toBeCloseTo(
            one.residualStandardDeviation,
            9,
          );
          expect(other.grandMean / scale - shift).toBeCloseTo(one.grandMean, 8);
        },
      ),
    );
  });

  test('does not mind the order of groups and readings', () => {
    fc.assert(
      fc.property(groups, (lists) => {
        const one = known(oneWayAnalysisOfVariance(lists));
        const other = known(
          oneWayAnalysisOfVariance([...lists].reverse().map((list) => [...list].reverse())),
        );
        expect(other.fRatio).toBeCloseTo(one.fRatio, 9);
        expect(other.within.sumOfSquares).toBeCloseTo(one.within.sumOfSquares, 9);
        expect([...other.groupMeans].reverse().map((mean) => mean.toFixed(9))).toEqual(
          one.groupMeans.map((mean) => mean.toFixed(9)),
        );
      }),
    );
  });

  test('of two groups is the square of the pooled t', () => {
    fc.assert(
      fc.property(groups, ([first, second]) => {
        const spread = [first!, second!].some((list) => list.some((value) => value !== list[0]));
        if (!spread) return;
        const { fRatio, pValue } = known(oneWayAnalysisOfVariance([first!, second!]));
        const { pooled } = known(twoSampleComparison(first!, second!));
        expect(fRatio).toBeCloseTo(pooled.statistic ** 2, 7);
        expect(pValue).toBeCloseTo(pooled.pValue, 8);
      }),
    );
  });

  test('rejects equal means as often as it says', () => {
    const source = randomSource(11);
    let rejected = 0;
    const runs = 1500;
    for (let run = 0; run < runs; run++) {
      const lists = [3, 5, 4].map((size) => Array.from({ length: size }, () => source.normal()));
      if (known(oneWayAnalysisOfVariance(lists, { confidence: 0.9 })).pValue < 0.1) rejected++;
    }
    // Four standard deviations of a binomial count.
    expect(Math.abs(rejected - 0.1 * runs)).toBeLessThan(4 * Math.sqrt(runs * 0.1 * 0.9));
  });

  test('says in words what it found', () => {
    expect(known(oneWayAnalysisOfVariance(resistors)).message).toContain('which group stands apart');
    expect(known(oneWayAnalysisOfVariance(resistors, { confidence: 0.9999 })).message).toContain(
      'small groups hide',
    );
  });

  test('adds up, also for readings next to the limits of what can be written', () => {
    for (const unit of [1, 1e140, 1e-290]) {
      const result = known(
        oneWayAnalysisOfVariance(resistors.map((list) => list.map((value) => value * unit))),
      );
      expect(result.fRatio).toBeCloseTo(9.5915, 3);
      expect(result.residualStandardDeviation / unit).toBeCloseTo(1.20596, 5);
      expect(result.totalSumOfSquares).toBe(result.totalSumOfSquares);
    }
    const { between, within, totalSumOfSquares, count } = known(oneWayAnalysisOfVariance(resistors));
    expect(between.sumOfSquares + within.sumOfSquares).toBeCloseTo(totalSumOfSquares, 12);
    expect(count).toBe(15);
  });

  test('has no answer without spread within the groups', () => {
    expect(
      oneWayAnalysisOfVariance([
        [1, 1],
        [2, 2],
      ]),
    ).toMatchObject({ available: false, reason: 'no-variation' });
    expect(
      oneWayAnalysisOfVariance([
        [0, 1e-170],
        [1, 1],
      ]),
    ).toMatchObject({ available: false, reason: 'no-variation' });
  });

  test('refuses what it cannot work with', () => {
    const refusal = (call: () => unknown) => {
      try {
        call();
      } catch (error) {
        return error;
      }
      return null;
    };
    expect(refusal(() => oneWayAnalysisOfVariance([[1, 2]]))).toMatchObject({
      code: 'too-few-values',
      argument: 'groups',
    });
    expect(refusal(() => oneWayAnalysisOfVariance([[1], [2]]))).toMatchObject({
      code: 'too-few-values',
      argument: 'groups',
    });
    expect(refusal(() => oneWayAnalysisOfVariance([[1], []]))).toMatchObject({
      code: 'empty',
      argument: 'groups.1',
    });
    expect(refusal(() => oneWayAnalysisOfVariance([[1], [2, Number.NaN]]))).toMatchObject({
      code: 'not-finite',
      argument: 'groups.1.1',
    });
    expect(
      refusal(() =>
        oneWayAnalysisOfVariance([
          [1e151, 2],
          [0, -1e151],
        ]),
      ),
    ).toMatchObject({ code: 'out-of-range', argument: 'groups' });
    expect(refusal(() => oneWayAnalysisOfVariance(resistors, { confidence: 1 }))).toMatchObject({
      code: 'out-of-range',
      argument: 'options.confidence',
    });
  });
});

describe('differences of means', () => {
  test('hold all together by default: wider than each alone', () => {
    // Source: 2.38 − t(1 − 0.05/6, 12) s √(2/5) by scipy 1.17.1, stats.t.
    const all = known(differencesOfMeans(resistors));
    expect(all.differences[0]!.lower).toBeCloseTo(0.2600556998908963, 12);
    expect(all.differences.map(({ first, second }) => [first, second])).toEqual([
      [0, 1],
      [0, 2],
      [1, 2],
    ]);
    expect(all.differences[0]!.difference).toBeCloseTo(2.38, 12);
    expect(all.holds).toBe('all');
    const each = known(differencesOfMeans(resistors, { holds: 'each' }));
    expect(each.differences[0]!.lower).toBeGreaterThan(all.differences[0]!.lower);
    expect(each.differences[0]!.upper).toBeLessThan(all.differences[0]!.upper);
  });

  test('refuse unknown names and too many groups, and pass on what has no answer', () => {
    expect(() => differencesOfMeans(resistors, { holds: 'none' as 'all' })).toThrow('options.holds');
    expect(() => differencesOfMeans(Array.from({ length: 101 }, () => [1, 2]))).toThrow('At most 100');
    expect(
      known(differencesOfMeans(Array.from({ length: 100 }, (_, k) => [1, 2 + k]))).differences,
    ).toHaveLength(4950);
    expect(
      differencesOfMeans([
        [1, 1],
        [2, 2],
      ]).available,
    ).toBe(false);
  });
});
