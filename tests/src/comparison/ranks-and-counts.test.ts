import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { midRanks } from '../../../src/comparison/mid-ranks.ts';
import {
  bartlettTest,
  kruskalWallisTest,
  leveneTest,
  mannWhitneyTest,
  twoProportionsComparison,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { known } from '../known.ts';

const reading = fc.integer({ min: 0, max: 20 });
const sample = fc.array(reading, { minLength: 1, maxLength: 10 });

describe('ranks', () => {
  test('ties share the mean of their ranks', () => {
    expect([...midRanks([3, 1, 3, 2]).ranks]).toEqual([3.5, 1, 3.5, 2]);
    expect(midRanks([3, 1, 3, 2, 3, 1]).ties).toBe(24 + 6);
    expect(midRanks([]).ties).toBe(0);
  });

  test('Mann-Whitney counts the pairs', () => {
    fc.assert(
      fc.property(sample, sample, (first, second) => {
        const result = mannWhitneyTest(first, second);
        if (!result.available) return expect(new Set([...first, ...second]).size).toBe(1);
        let pairs = 0;
        for (const a of first) for (const b of second) pairs += a > b ? 1 : a === b ? 0.5 : 0;
        expect(result.statistic).toBe(pairs);
        const mirrored = known(mannWhitneyTest(second, first));
        expect(mirrored.standardizedStatistic).toBeCloseTo(-result.standardizedStatistic, 12);
        expect(mirrored.exactPValue ?? 2).toBeCloseTo(result.exactPValue ?? 2, 13);
      }),
    );
  });

  test('the exact p-value counts all arrangements', () => {
    // Of the 20 ways to place three among six, U = 9 and U = 0 are one each, U ≥ 8 or ≤ 1 two each.
    expect(known(mannWhitneyTest([4, 5, 6], [1, 2, 3])).exactPValue).toBeCloseTo(2 / 20, 15);
    expect(known(mannWhitneyTest([3, 5, 6], [1, 2, 4])).exactPValue).toBeCloseTo(4 / 20, 15);
    expect(known(mannWhitneyTest([1, 4], [2, 3])).exactPValue).toBe(1);
    // Source: mannwhitneyu of scipy 1.17.1, asymptotic with ties.
    const tied = known(mannWhitneyTest([1, 2, 2, 5], [3, 4, 2, 8, 9]));
    expect(tied.exactPValue).toBeNull();
    expect(tied.hasTies).toBe(true);
    expect(tied.asymptoticPValue).toBeCloseTo(0.17060874485083155, 13);
  });

  test('exact and asymptotic meet for large samples; beyond 2000 pairs only one is given', () => {
    const source = randomSource(8);
    const draw = (count: number) => Array.from({ length: count }, () => source.uniform());
    const { exactPValue, asymptoticPValue } = known(mannWhitneyTest(draw(40), draw(50)));
    expect(exactPValue).toBeCloseTo(asymptoticPValue, 2);
    expect(known(mannWhitneyTest(draw(41), draw(50))).exactPValue).toBeNull();
  });

  test('rank tests do not mind a monotone change of scale', () => {
    fc.assert(
      fc.property(fc.array(sample, { minLength: 2, maxLength: 4 }), (groups) => {
        const one = kruskalWallisTest(groups);
        const other = kruskalWallisTest(groups.map((group) => group.map((value) => Math.exp(value / 3))));
        expect(other).toEqual(one);
      }),
    );
  });

  test('Kruskal-Wallis of two groups is the square of Mann-Whitney without continuity', () => {
    const [first, second] = [
      [1, 4, 7, 9],
      [2, 8, 11, 12, 13],
    ];
    const { statistic } = known(mannWhitneyTest(first, second));
    const z = (statistic - 10) / Math.sqrt((20 / 12) * 10);
    expect(known(kruskalWallisTest([first, second])).statistic).toBeCloseTo(z * z, 12);
  });

  test('all equal: no order', () => {
    expect(mannWhitneyTest([2, 2], [2])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(kruskalWallisTest([[2, 2], [2]])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(() => mannWhitneyTest([], [1])).toThrow('first: ');
    expect(() => mannWhitneyTest([1], [Number.NaN])).toThrow('second.0: ');
    expect(() => kruskalWallisTest([[1]])).toThrow('groups: ');
  });
});

describe('several variances', () => {
  const groups = [
    [6.9, 5.4, 5.8, 4.6, 4.0],
    [8.3, 6.8, 7.8, 9.2, 6.5],
    [18.0, 1.5, 8.1, 26.9, 9.3],
  ];

  test('neither unit nor place nor order matter', () => {
    const moved = [...groups].reverse().map((group, k) => group.map((value) => 25.4 * (value + 100 * k)));
    expect(known(bartlettTest(moved)).statistic).toBeCloseTo(known(bartlettTest(groups)).statistic, 8);
    expect(known(leveneTest(moved)).fRatio).toBeCloseTo(known(leveneTest(groups)).fRatio, 8);
    expect(known(bartlettTest(groups)).significant).toBe(true);
    expect(known(bartlettTest(groups.slice(0, 2))).significant).toBe(false);
  });

  test('equal variances give nothing', () => {
    const result = known(
      bartlettTest([
        [1, 2, 3],
        [11, 12, 13],
        [5, 6, 7],
      ]),
    );
    expect(result.statistic).toBeCloseTo(0, 12);
    expect(result.pValue).toBeCloseTo(1, 6);
  });

  test('no spread, no verdict', () => {
    expect(
      bartlettTest([
        [1, 2],
        [3, 3],
      ]),
    ).toMatchObject({ available: false, reason: 'no-variation' });
    expect(
      leveneTest([
        [1, 2],
        [3, 4],
      ]),
    ).toMatchObject({ available: false, reason: 'no-variation' });
    expect(() => bartlettTest([[1, 2], [3]])).toThrow('groups.1: ');
    expect(() => leveneTest([[1, 2], [3]])).toThrow('groups.1: ');
    expect(() => bartlettTest(groups, { confidence: 2 })).toThrow('options.confidence');
  });
});

describe('two proportions', () => {
  const counted = fc
    .tuple(fc.integer({ min: 1, max: 200 }), fc.double({ min: 0, max: 1, noNaN: true }))
    .map(([sampleSize, share]) => ({ sampleSize, nonconforming: Math.round(share * sampleSize) }));

  test('agree with an independent library', () => {
    // Source: fisher_exact of scipy 1.17.1.
    const of = (a: number, n: number, c: number, m: number) =>
      twoProportionsComparison({ nonconforming: a, sampleSize: n }, { nonconforming: c, sampleSize: m });
    expect(of(8, 10, 1, 6).fisherPValue).toBeCloseTo(0.034965034965034975, 14);
    expect(of(8, 10, 1, 6).oddsRatio).toBe(20);
    expect(of(30, 1000, 60, 1000).fisherPValue).toBeCloseTo(0.0016206190187386925, 14);
    expect(of(30, 1000, 60, 1000).message).toContain('look for what changed');
    expect(of(3, 10, 2, 10).message).toContain('does not prove');
    expect(of(0, 1e6, 1e6, 1e6).fisherPValue).toBe(0);
  });

  test('stay inside −1 … 1, and turn round when the samples change places', () => {
    fc.assert(
      fc.property(counted, counted, (first, second) => {
        const one = twoProportionsComparison(first, second);
        const other = twoProportionsComparison(second, first);
        expect(one.lower).toBeGreaterThanOrEqual(-1 - 1e-12);
        expect(one.upper).toBeLessThanOrEqual(1 + 1e-12);
        expect(one.lower).toBeLessThanOrEqual(one.difference);
        expect(other.lower).toBeCloseTo(-one.upper, 12);
        expect(Math.abs(other.fisherPValue / one.fisherPValue - 1)).toBeLessThan(1e-9);
        expect(other.pooledStatistic).toBeCloseTo(-one.pooledStatistic, 10);
        expect(other.pooledPValue).toBeCloseTo(one.pooledPValue, 12);
      }),
    );
  });

  test('the exact test never rejects too often', () => {
    const source = randomSource(23);
    const count = (size: number) => {
      let nonconforming = 0;
      for (let k = 0; k < size; k++) if (source.uniform() < 0.2) nonconforming++;
      return { nonconforming, sampleSize: size };
    };
    let rejected = 0;
    for (let run = 0; run < 1500; run++)
      if (twoProportionsComparison(count(25), count(40)).fisherPValue < 0.1) rejected++;
    expect(rejected).toBeLessThan(150);
    expect(rejected).toBeGreaterThan(40);
  });

  test('refuse counts that do not fit', () => {
    const good = { nonconforming: 1, sampleSize: 5 };
    expect(() => twoProportionsComparison({ nonconforming: 6, sampleSize: 5 }, good)).toThrow(
      'first.nonconforming: ',
    );
    expect(() => twoProportionsComparison(good, { nonconforming: 0.5, sampleSize: 5 })).toThrow(
      'second.nonconforming: ',
    );
    expect(() => twoProportionsComparison(good, { nonconforming: 0, sampleSize: 0 })).toThrow(
      'second.sampleSize: ',
    );
    expect(() => twoProportionsComparison(good, good, { confidence: 1 })).toThrow('options.confidence: ');
  });
});
