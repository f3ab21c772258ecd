import { describe, expect, test } from 'vitest';
import {
  distributionFreeTolerance,
  distributionFreeToleranceInterval,
  type IntervalSide,
  normalToleranceFactor,
  predictionFactor,
  predictionInterval,
  subgroupStatistics,
  toleranceInterval,
  toleranceSampleSize,
} from '../../../src/index.ts';
import { normalLowerTail, normalQuantile } from '../../../src/numerics/normal.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { coveringHalfWidth } from '../../../src/tolerance-interval/two-sided-factor.ts';
import { known } from '../known.ts';

const values = [12.05, 12.06, 12.03, 12.01, 12.01, 11.96];
const holds = (lower: number | null, upper: number | null) =>
  normalLowerTail(upper ?? Infinity) - normalLowerTail(lower ?? -Infinity);
/** Four standard deviations of a binomial share. */
const four = (share: number, runs: number) => 4 * Math.sqrt((share * (1 - share)) / runs);
/** Mean and standard deviation of a small simulated sample. */
const meanAndSpreadOf = (sample: readonly number[]) => {
  const { mean, standardDeviation } = subgroupStatistics(sample);
  return { mean: mean!, spread: standardDeviation! };
};
const draw = (source: ReturnType<typeof randomSource>, count: number) =>
  Array.from({ length: count }, () => source.normal());

describe('normal tolerance intervals', () => {
  test.each<[IntervalSide, number]>([
    ['two-sided', 1],
    ['upper', 2],
    ['lower', 3],
  ])('hold the coverage as often as they say (%s)', (side, seed) => {
    const source = randomSource(seed);
    const options = { coverage: 0.9, confidence: 0.8, side };
    // The factor is the same for every sample of eight.
    const { factor } = known(toleranceInterval(draw(source, 8), options));
    const runs = 10_000;
    let held = 0;
    for (let run = 0; run < runs; run++) {
      const { mean, spread } = meanAndSpreadOf(draw(source, 8));
      const lower = side === 'upper' ? null : mean - factor * spread;
      const upper = side === 'lower' ? null : mean + factor * spread;
      if (holds(lower, upper) >= 0.9) held++;
    }
    expect(Math.abs(held / runs - 0.8)).toBeLessThan(four(0.8, runs));
  });

  test('hold it with a known standard deviation too', () => {
    const source = randomSource(4);
    const runs = 1500;
    let held = 0;
    for (let run = 0; run < runs; run++) {
      const found = known(
        toleranceInterval(draw(source, 5), { coverage: 0.9, confidence: 0.8, knownStandardDeviation: 1 }),
      );
      if (holds(found.lower, found.upper) >= 0.9) held++;
    }
    expect(Math.abs(held / runs - 0.8)).toBeLessThan(four(0.8, runs));
  });

  test('move with the readings', () => {
    const plain = known(toleranceInterval(values, { coverage: 0.95 }));
    const moved = known(
      toleranceInterval(
        values.map((value) => (12 - value) * 1000),
        { coverage: 0.95 },
      ),
    );
    expect(moved.lower).toBeCloseTo((12 - plain.upper!) * 1000, 8);
    expect(moved.upper).toBeCloseTo((12 - plain.lower!) * 1000, 8);
    expect(plain.message).toContain('normally distributed');
    expect(known(toleranceInterval(values, { coverage: 0.95, side: 'upper' })).lower).toBeNull();
    expect(known(toleranceInterval(values, { coverage: 0.95, side: 'lower' })).upper).toBeNull();
  });

  test('widen with coverage and confidence, shrink with readings', () => {
    const factor = (
      sampleSize: number,
      coverage: number,
      confidence: number,
      sides: 'one-sided' | 'two-sided',
    ) => known(normalToleranceFactor({ sampleSize, coverage, confidence, sides })).factor;
    for (const sides of ['one-sided', 'two-sided'] as const) {
      expect(factor(10, 0.99, 0.9, sides)).toBeGreaterThan(factor(10, 0.95, 0.9, sides));
      expect(factor(10, 0.95, 0.95, sides)).toBeGreaterThan(factor(10, 0.95, 0.9, sides));
      expect(factor(11, 0.95, 0.9, sides)).toBeLessThan(factor(10, 0.95, 0.9, sides));
    }
    // Many readings know everything: the factor is the quantile itself.
    expect(factor(1e9, 0.95, 0.9, 'two-sided')).toBeCloseTo(-normalQuantile(0.025), 3);
    expect(factor(1e9, 0.95, 0.9, 'one-sided')).toBeCloseTo(normalQuantile(0.95), 3);
  });

  test('many degrees of freedom are as good as a known standard deviation', () => {
    for (const sides of ['one-sided', 'two-sided'] as const) {
      const of = (degreesOfFreedom: number | 'known') =>
        known(
          normalToleranceFactor({ sampleSize: 7, coverage: 0.95, confidence: 0.9, sides, degreesOfFreedom }),
        ).factor;
      expect(Math.abs(of(1e9) - of('known'))).toBeLessThan(1e-4);
      expect(of(30)).toBeGreaterThan(of('known'));
    }
    expect(
      known(normalToleranceFactor({ sampleSize: 1, coverage: 0.9, degreesOfFreedom: 'known' })).method,
    ).toBe('known standard deviation');
  });

  test('a half-width about a shifted middle holds the coverage', () => {
    for (const offset of [0, 0.3, 2, 8])
      for (const coverage of [0.01, 0.5, 0.99, 1 - 1e-9]) {
        const width = coveringHalfWidth(offset, coverage);
        const outside = normalLowerTail(offset - width) + normalLowerTail(-offset - width);
        expect(Math.abs(outside / (1 - coverage) - 1)).toBeLessThan(1e-9);
      }
  });

  test.each([
    [() => normalToleranceFactor({ sampleSize: 1, coverage: 0.9 }), 'options.sampleSize: '],
    [
      () => normalToleranceFactor({ sampleSize: 0, coverage: 0.9, degreesOfFreedom: 3 }),
      'options.sampleSize: ',
    ],
    [() => normalToleranceFactor({ sampleSize: 5, coverage: 1 }), 'options.coverage: '],
    [() => normalToleranceFactor({ sampleSize: 5, coverage: 0.9, confidence: 0 }), 'options.confidence: '],
    [
      () => normalToleranceFactor({ sampleSize: 5, coverage: 0.9, sides: 'both' as 'one-sided' }),
      'options.sides: ',
    ],
    [
      () => normalToleranceFactor({ sampleSize: 5, coverage: 0.9, method: 'x' as 'Howe' }),
      'options.method: ',
    ],
    [
      () => normalToleranceFactor({ sampleSize: 5, coverage: 0.9, degreesOfFreedom: 0.4 }),
      'options.degreesOfFreedom: ',
    ],
    [() => toleranceInterval([1], { coverage: 0.9 }), 'values: At least 2'],
    [() => toleranceInterval([1, 2], { coverage: 0.9, side: 'left' as 'upper' }), 'options.side: '],
    [
      () => toleranceInterval([1, 2], { coverage: 0.9, knownStandardDeviation: 0 }),
      'options.knownStandardDeviation: ',
    ],
    [() => toleranceInterval([1, 2], { coverage: 0.9, knownStandardDeviation: 1.7e308 }), 'leave the range'],
    [() => predictionFactor({ sampleSize: 1 }), 'options.sampleSize: '],
    [() => predictionFactor({ sampleSize: 5, futureCount: 0 }), 'options.futureCount: '],
    [() => predictionFactor({ sampleSize: 5, method: 'x' as 'exact' }), 'options.method: '],
    [() => predictionFactor({ sampleSize: 5, sides: 'x' as 'one-sided' }), 'options.sides: '],
    [() => predictionFactor({ sampleSize: 5, confidence: 1 }), 'options.confidence: '],
    [() => predictionFactor({ sampleSize: 5, degreesOfFreedom: 0 }), 'options.degreesOfFreedom: '],
    [() => predictionInterval([1, 2], { side: 'left' as 'upper' }), 'options.side: '],
    [
      () => distributionFreeTolerance({ sampleSize: 5, coverage: 0.9, lowerRank: 0, upperRankFromTop: 0 }),
      'options.lowerRank: ',
    ],
    [
      () => distributionFreeTolerance({ sampleSize: 5, coverage: 0.9, lowerRank: 3, upperRankFromTop: 3 }),
      'options.lowerRank: ',
    ],
    [
      () => distributionFreeTolerance({ sampleSize: 5, coverage: 0.9, upperRankFromTop: 6 }),
      'options.upperRankFromTop: ',
    ],
    [() => distributionFreeTolerance({ sampleSize: 5, coverage: 0 }), 'options.coverage: '],
    [() => toleranceSampleSize({ coverage: 0.9, ranks: 0 }), 'options.ranks: '],
    [() => distributionFreeToleranceInterval([], { coverage: 0.9 }), 'values: '],
    [() => distributionFreeToleranceInterval([1], { coverage: 0.9, side: 'x' as 'upper' }), 'options.side: '],
  ])('refuse and name the field (%#)', (call, words) => {
    expect(call).toThrow(words);
  });

  test('equal readings have no interval, except from a known spread', () => {
    expect(toleranceInterval([3, 3, 3], { coverage: 0.9 })).toMatchObject({
      available: false,
      reason: 'no-variation',
    });
    expect(predictionInterval([3, 3, 3])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(toleranceInterval([3], { coverage: 0.9, knownStandardDeviation: 2 }).available).toBe(true);
  });
});

describe('prediction intervals', () => {
  test.each<[IntervalSide, number, 'exact' | 'mean', number]>([
    ['two-sided', 3, 'exact', 5],
    ['upper', 4, 'exact', 6],
    ['lower', 2, 'exact', 7],
    ['two-sided', 4, 'mean', 9],
  ])('hold the next readings as often as they say (%s, %d, %s)', (side, futureCount, method, seed) => {
    const source = randomSource(seed);
    const options = { futureCount, confidence: 0.8, side, method };
    const { factor } = known(predictionInterval(draw(source, 5), options));
    const runs = 10_000;
    let held = 0;
    for (let run = 0; run < runs; run++) {
      const { mean, spread } = meanAndSpreadOf(draw(source, 5));
      const next = draw(source, futureCount);
      const judged = method === 'mean' ? [meanAndSpreadOf(next).mean] : next;
      const lower = side === 'upper' ? -Infinity : mean - factor * spread;
      const upper = side === 'lower' ? Infinity : mean + factor * spread;
      if (judged.every((value) => value > lower && value < upper)) held++;
    }
    expect(Math.abs(held / runs - 0.8)).toBeLessThan(four(0.8, runs));
  });

  test('are the mean and the factor times the standard deviation', () => {
    const { mean, spread } = meanAndSpreadOf(values);
    const found = known(predictionInterval(values, { futureCount: 3 }));
    const { factor } = known(predictionFactor({ sampleSize: 6, futureCount: 3 }));
    expect(found).toMatchObject({ mean, standardDeviation: spread, factor, lower: mean - factor * spread });
    expect(found.upper).toBe(mean + factor * spread);
    expect(found.message).toContain('what has changed');
    expect(known(predictionInterval(values, { side: 'upper' })).lower).toBeNull();
    expect(known(predictionInterval(values, { side: 'lower' })).upper).toBeNull();
  });

  test('the exact factor never exceeds the safe one, and meets it for one reading', () => {
    for (const sides of ['one-sided', 'two-sided'] as const)
      for (const sampleSize of [2, 3, 10, 1000])
        for (const futureCount of [1, 2, 7, 500]) {
          const of = (method: 'exact' | 'bonferroni') =>
            known(predictionFactor({ sampleSize, futureCount, sides, method })).factor;
          if (futureCount === 1) expect(of('exact')).toBe(of('bonferroni'));
          else expect(of('exact')).toBeLessThan(of('bonferroni'));
        }
  });

  test('low confidence on one side may end below the mean', () => {
    // By symmetry one reading lies below the mean in half of all cases; three all do less often.
    expect(
      known(predictionFactor({ sampleSize: 10, confidence: 0.5, sides: 'one-sided' })).factor,
    ).toBeCloseTo(0, 12);
    expect(
      known(predictionFactor({ sampleSize: 10, futureCount: 3, confidence: 0.05, sides: 'one-sided' }))
        .factor,
    ).toBeLessThan(0);
  });
});

describe('distribution-free tolerance intervals', () => {
  test('hold the coverage as often as they say, for a skewed population', () => {
    const source = randomSource(10);
    const runs = 3000;
    let held = 0;
    const { achievedConfidence } = distributionFreeTolerance({
      sampleSize: 20,
      coverage: 0.8,
      lowerRank: 1,
      upperRankFromTop: 2,
    });
    for (let run = 0; run < runs; run++) {
      // The share below −ln(u) is 1 − u: exponential.
      const sorted = Array.from({ length: 20 }, () => -Math.log(source.uniform())).sort((a, b) => a - b);
      if (Math.exp(-sorted[0]!) - Math.exp(-sorted[18]!) >= 0.8) held++;
    }
    expect(Math.abs(held / runs - achievedConfidence)).toBeLessThan(four(achievedConfidence, runs));
  });

  test('take the innermost readings that suffice', () => {
    const readings = Array.from({ length: 200 }, (_, k) => (k * 77) % 200);
    const both = known(distributionFreeToleranceInterval(readings, { coverage: 0.9, confidence: 0.9 }));
    const next = (rank: number) =>
      distributionFreeTolerance({
        sampleSize: 200,
        lowerRank: rank,
        upperRankFromTop: rank,
        coverage: 0.9,
        confidence: 0.9,
      });
    expect(next(both.lowerRank).sufficient).toBe(true);
    expect(next(both.lowerRank + 1).sufficient).toBe(false);
    expect(both.lower).toBe(both.lowerRank - 1);
    expect(both.upper).toBe(200 - both.upperRankFromTop);
    const upper = known(
      distributionFreeToleranceInterval(readings, { coverage: 0.9, confidence: 0.9, side: 'upper' }),
    );
    expect(upper).toMatchObject({ lower: null, lowerRank: 0 });
    expect(upper.upper).toBe(200 - upper.upperRankFromTop);
    const lower = known(
      distributionFreeToleranceInterval(readings, { coverage: 0.9, confidence: 0.9, side: 'lower' }),
    );
    expect(lower).toMatchObject({ upper: null, upperRankFromTop: 0, lower: upper.upperRankFromTop - 1 });
  });

  test('say how many readings are missing', () => {
    expect(distributionFreeToleranceInterval([1, 2, 3], { coverage: 0.95 })).toMatchObject({
      available: false,
      reason: 'too-few-values',
      message: expect.stringContaining('at least 93 readings'),
    });
  });

  test('the sample size is the least one', () => {
    for (const ranks of [1, 2, 5])
      for (const coverage of [0.5, 0.9, 0.999]) {
        const { sampleSize, achievedConfidence } = known(toleranceSampleSize({ coverage, ranks }));
        const at = (size: number) =>
          distributionFreeTolerance({ sampleSize: size, coverage, lowerRank: ranks, upperRankFromTop: 0 });
        expect(at(sampleSize).achievedConfidence).toBe(achievedConfidence);
        expect(achievedConfidence).toBeGreaterThanOrEqual(0.95);
        if (sampleSize > ranks) expect(at(sampleSize - 1).sufficient).toBe(false);
      }
    expect(toleranceSampleSize({ coverage: 1 - 1e-9, confidence: 0.999 })).toMatchObject({
      available: false,
      reason: 'not-reachable',
    });
    expect(known(toleranceSampleSize({ coverage: 0.001, confidence: 0.001, ranks: 3 })).sampleSize).toBe(3);
  });

  test('a confidence met exactly is reached', () => {
    // 1 − 3·(1/2)² + 2·(1/2)³ = 1/2 by hand.
    const halves = { coverage: 0.5, confidence: 0.5 };
    expect(known(toleranceSampleSize(halves)).sampleSize).toBe(3);
    expect(
      distributionFreeTolerance({ sampleSize: 3, ...halves, lowerRank: 1, upperRankFromTop: 1 }).sufficient,
    ).toBe(true);
  });
});
