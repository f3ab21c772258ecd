import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  binomialChangePoint,
  type ChangePoint,
  changePointTest,
  driftChangePoint,
  meanChangePoint,
  poissonChangePoint,
  varianceChangePoint,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { reading } from '../generators.ts';

function available<T>(outcome: { available: boolean } & T) {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<typeof outcome, { available: true }>;
}

const series = fc.array(reading, { minLength: 2, maxLength: 30 });
const close = (actual: ChangePoint, expected: ChangePoint) => {
  actual.logLikelihood.forEach((value, t) => {
    if (value === null) expect(expected.logLikelihood[t]).toBeNull();
    else expect(Math.abs(value - expected.logLikelihood[t]!)).toBeLessThan(1e-7 * (1 + expected.maximum));
  });
};

describe('change points', () => {
  test('shifting and rescaling readings and levels leaves the likelihoods alone', () => {
    fc.assert(
      fc.property(series, (means) => {
        const shared = { mean: 10, standardDeviation: 0.3, size: 4 };
        const moved = { ...shared, mean: 10_005, standardDeviation: 300 };
        const scaled = means.map((x) => 1000 * x + 5);
        for (const changePoint of [meanChangePoint, driftChangePoint])
          close(available(changePoint(scaled, moved)), available(changePoint(Object.freeze(means), shared)));
        close(
          available(meanChangePoint(scaled, { standardDeviation: 300, size: 4 })),
          available(meanChangePoint(means, { standardDeviation: 0.3, size: 4 })),
        );
      }),
    );
  });

  test('the plausible set holds the change point, grows with drop and lies within it', () => {
    fc.assert(
      fc.property(series, fc.double({ min: 0, max: 5, noNaN: true }), (means, drop) => {
        const found = available(meanChangePoint(means, { mean: 10, standardDeviation: 0.3, drop }));
        expect(found.plausible).toContain(found.changePoint);
        expect(found.logLikelihood[found.changePoint]).toBeCloseTo(found.maximum, 9);
        for (const t of found.plausible)
          expect(found.logLikelihood[t]!).toBeGreaterThan(found.maximum - drop - 1e-6);
        const wider = available(meanChangePoint(means, { mean: 10, standardDeviation: 0.3, drop: drop + 1 }));
        for (const t of found.plausible) expect(wider.plausible).toContain(t);
        expect(found.n).toBe(means.length);
      }),
    );
  });

  test('one size for all is the same as sizes', () => {
    fc.assert(
      fc.property(series, (means) => {
        const sizes = means.map(() => 3);
        const shared = { mean: 10, standardDeviation: 0.3 };
        expect(meanChangePoint(means, { ...shared, size: 3 })).toEqual(
          meanChangePoint(means, { ...shared, sizes }),
        );
        expect(driftChangePoint(means, { ...shared, size: 3 })).toEqual(
          driftChangePoint(means, { ...shared, sizes }),
        );
      }),
    );
  });

  test('counts: likelihoods are those of the two hypotheses', () => {
    const counts = [1, 0, 3, 4];
    const { logLikelihood } = available(poissonChangePoint(counts, { rate: 1.5, areas: [1, 2, 1, 2] }));
    // Σ x ln(rate after/rate) − area(rate after − rate), written out for t = 2: 7 counts on 3 units.
    expect(logLikelihood[2]).toBeCloseTo(7 * Math.log(7 / 3 / 1.5) - 3 * (7 / 3 - 1.5), 12);
    const binomial = available(binomialChangePoint(counts, { proportion: 0.1, sizes: [10, 10, 20, 20] }));
    expect(binomial.logLikelihood[2]).toBeCloseTo(7 * Math.log(0.175 / 0.1) + 33 * Math.log(0.825 / 0.9), 12);
    expect(binomial.estimate).toBeCloseTo(7 / 40, 12);
    const nothing = available(binomialChangePoint([5, 5], { proportion: 0.1, sizes: 5 }));
    expect(nothing.logLikelihood[0]).toBeCloseTo(10 * Math.log(10), 12);
  });

  test('likelihoods and estimates are those of the definitions, with unequal sizes', () => {
    // Written out from the definitions with numpy: weighted sums from t on, no recursion.
    const means = [10, 10.2, 11, 11.4];
    const shared = { mean: 10, standardDeviation: 0.5, sizes: [2, 4, 2, 6] };
    const holds = (found: ChangePoint, logLikelihood: readonly number[], estimate: number) => {
      logLikelihood.forEach((value, t) => {
        expect(found.logLikelihood[t]).toBeCloseTo(value, 9);
      });
      expect(found.estimate).toBeCloseTo(estimate, 9);
    };
    const step = available(meanChangePoint(means, shared));
    holds(step, [17.92, 20.9066666667, 27.04, 23.52], 11.3);
    const unknown = available(meanChangePoint(means, { standardDeviation: 0.5, sizes: shared.sizes }));
    expect(unknown.logLikelihood[0]).toBeNull();
    [2.9866666667, 9.3333333333, 7.56].forEach((value, t) => {
      expect(unknown.logLikelihood[t + 1]).toBeCloseTo(value, 9);
    });
    const drift = available(driftChangePoint(means, shared));
    holds(drift, [25.7187878788, 27.2727272727, 27.1876923077, 23.52], 0.4545454545);
    const spread = available(
      varianceChangePoint([0.2, 0.3, 1.2, 1.5], { standardDeviation: 0.5, sizes: shared.sizes }),
    );
    holds(spread, [7.769541731, 8.1712520298, 9.1264262473, 8.0206013269], 1.2041594579);
  });

  test('an improved process is found too', () => {
    expect(
      available(varianceChangePoint([1, 1, 1, 0.04, 0.05], { standardDeviation: 1, size: 6 })),
    ).toMatchObject({
      kind: 'variance',
      changePoint: 3,
      plausible: [3],
    });
    expect(available(poissonChangePoint([9, 11, 10, 2, 1, 2], { rate: 10 })).changePoint).toBe(3);
  });

  test('likelihoods are never negative and 0 where nothing differs', () => {
    expect(available(meanChangePoint([5, 5, 5], { mean: 5, standardDeviation: 1 }))).toMatchObject({
      logLikelihood: [0, 0, 0],
      changePoint: 0,
      plausible: [0, 1, 2],
      estimate: 5,
    });
    expect(available(meanChangePoint([5, 5, 5], { standardDeviation: 1 }))).toMatchObject({
      logLikelihood: [null, 0, 0],
      changePoint: 1,
      plausible: [1, 2],
    });
    expect(available(poissonChangePoint([2, 2], { rate: 2 })).logLikelihood).toEqual([0, 0]);
    expect(available(varianceChangePoint([1, 1], { standardDeviation: 1 })).logLikelihood).toEqual([0, 0]);
  });

  test('on a tie the earliest, whatever the rounding', () => {
    // 0.1 + 0.2 against 0.3: equal likelihoods at 0 and 1 in exact arithmetic would need (Σ)²/N equal.
    const found = available(meanChangePoint([0.1, 0.3], { mean: 0, standardDeviation: 0.1 }));
    expect(found.logLikelihood[0]).toBeCloseTo(4, 12);
    expect(
      available(meanChangePoint([(Math.SQRT2 - 1) * 0.3, 0.3], { mean: 0, standardDeviation: 0.1 }))
        .changePoint,
    ).toBe(0);
  });

  test('since when, in words that count from 1', () => {
    const words = (means: number[], drop = 2) =>
      available(meanChangePoint(means, { mean: 0, standardDeviation: 1, drop })).message;
    expect(words([0, 0, 5, 5])).toBe(
      'If the process changed, it most likely did between sample 2 and sample 3. No other start is plausible. Look in the log for what was done then.',
    );
    expect(words([5, 5, 5])).toBe(
      'If the process changed, it most likely did before the first of these samples. No other start is plausible. Look at earlier samples.',
    );
    expect(words([0, 1, 3], 1)).toContain('Starts from sample 2 to sample 3 are plausible.');
  });

  test('what has no answer is named', () => {
    expect(meanChangePoint([1], { standardDeviation: 1 })).toMatchObject({ reason: 'too-few-values' });
    expect(varianceChangePoint([1, 0], { standardDeviation: 1 })).toMatchObject({ reason: 'no-variation' });
    expect(available(varianceChangePoint([0, 1], { standardDeviation: 1 })).n).toBe(2);
  });

  test.each([
    [() => meanChangePoint([], { standardDeviation: 1 }), 'empty', 'means'],
    [() => meanChangePoint([1, Number.NaN], { standardDeviation: 1 }), 'not-finite', 'means.1'],
    [() => meanChangePoint([1, 2], { standardDeviation: 0 }), 'out-of-range', 'options.standardDeviation'],
    [() => meanChangePoint([1, 2], { mean: Infinity, standardDeviation: 1 }), 'not-finite', 'options.mean'],
    [() => meanChangePoint([1, 2], { standardDeviation: 1, size: 0 }), 'out-of-range', 'options.size'],
    [() => meanChangePoint([1, 2], { standardDeviation: 1, sizes: [1] }), 'sizes-differ', 'options.sizes'],
    [
      () => meanChangePoint([1, 2], { standardDeviation: 1, sizes: [1, 0.5] }),
      'not-an-integer',
      'options.sizes.1',
    ],
    [() => meanChangePoint([1, 2], { standardDeviation: 1, drop: -1 }), 'out-of-range', 'options.drop'],
    [() => meanChangePoint([1e200, 2], { mean: 0, standardDeviation: 1 }), 'out-of-range', 'means'],
    [() => varianceChangePoint([1, -1], { standardDeviation: 1 }), 'out-of-range', 'variances.1'],
    [() => varianceChangePoint([1, 1], { standardDeviation: 1, size: 1 }), 'out-of-range', 'options.size'],
    [() => poissonChangePoint([1, 1.5], { rate: 1 }), 'not-an-integer', 'counts.1'],
    [() => poissonChangePoint([1, -1], { rate: 1 }), 'out-of-range', 'counts.1'],
    [() => poissonChangePoint([1, 1], { rate: 0 }), 'out-of-range', 'options.rate'],
    [() => poissonChangePoint([1, 1], { rate: 1, areas: [1] }), 'sizes-differ', 'options.areas'],
    [() => poissonChangePoint([1, 1], { rate: 1, areas: [1, 0] }), 'out-of-range', 'options.areas.1'],
    [() => binomialChangePoint([1, 6], { proportion: 0.1, sizes: 5 }), 'out-of-range', 'counts.1'],
    [() => binomialChangePoint([1, 1], { proportion: 1, sizes: 5 }), 'out-of-range', 'options.proportion'],
    [() => binomialChangePoint([1, 1], { proportion: 0.1, sizes: [5] }), 'sizes-differ', 'options.sizes'],
    [
      () => driftChangePoint([1, 1], { mean: 1, standardDeviation: -1 }),
      'out-of-range',
      'options.standardDeviation',
    ],
  ])('case %#: %s is refused: %s at %s', (call, code, argument) => {
    expect(call).toThrowError(expect.objectContaining({ code, argument }));
  });
});

describe('changePointTest', () => {
  const random = randomSource(6);
  const normals = (count: number) => Array.from({ length: count }, () => random.normal());

  test('finds a step and says since when', () => {
    const values = [...normals(20), ...normals(15).map((x) => x + 3)].map((x) => 10 + 0.1 * x);
    const found = available(changePointTest(Object.freeze(values)));
    expect(found).toMatchObject({ n: 35, proven: true, permutations: 999, pValue: 0.001 });
    expect(Math.abs(found.changePoint - 20)).toBeLessThanOrEqual(1);
    expect(found.plausible).toContain(found.changePoint);
    expect(found.meanBefore).toBeCloseTo(10, 0.9);
    expect(found.meanAfter).toBeCloseTo(10.3, 0.9);
    expect(found.message).toMatch(
      /^The level changed: since value \d+ the mean is 10\.\d+ instead of (9|10)\.\d+ \(p = 0\.001; .*\)\. Look in the log/,
    );
  });

  test('the share explained is that of the best step, worked out plainly', () => {
    fc.assert(
      fc.property(fc.array(reading, { minLength: 5, maxLength: 15 }), (values) => {
        const found = changePointTest(values, { permutations: 99 });
        if (!found.available) return;
        const squares = (part: readonly number[]) => {
          const mean = part.reduce((sum, x) => sum + x, 0) / part.length;
          return part.reduce((sum, x) => sum + (x - mean) ** 2, 0);
        };
        const left = values
          .slice(1)
          .map((_, i) => squares(values.slice(0, i + 1)) + squares(values.slice(i + 1)));
        expect(found.explainedShare).toBeCloseTo(1 - Math.min(...left) / squares(values), 8);
        expect(left[found.changePoint - 1]! / squares(values)).toBeCloseTo(
          Math.min(...left) / squares(values),
          8,
        );
      }),
      { numRuns: 50 },
    );
  });

  test('the p-value is counted: two levels of three and three', () => {
    // Of the 20 places of three high values among six, two explain all; the p-value tends to 0.1.
    const { pValue, explainedShare, proven, message } = available(
      changePointTest([1, 1, 1, 2, 2, 2], { permutations: 20_000, seed: 3 }),
    );
    expect(explainedShare).toBeCloseTo(1, 12);
    expect(Math.abs(pValue - 0.1)).toBeLessThan(4 * Math.sqrt(0.09 / 20_000));
    expect(proven).toBe(false);
    expect(message).toMatch(
      /^No change of the level is proven \(p = 0\.\d{3}, level 0\.01, 6 values\)\. So few values can hide one: if the log names an event around value 4, look there before/,
    );
  });

  test('a stable baseline is called changed as often as the significance says, normal or not', () => {
    for (const draw of [() => random.normal(), () => -Math.log(random.uniform())]) {
      let called = 0;
      for (let run = 0; run < 300; run++) {
        const values = Array.from({ length: 20 }, draw);
        if (available(changePointTest(values, { permutations: 199, seed: run, significance: 0.1 })).proven)
          called++;
      }
      // p < 0.1 with steps of 1/200: 9.5 % of 300 are 28.5, four standard errors 20.
      expect(Math.abs(called - 28.5)).toBeLessThan(20);
    }
  });

  test('shifting and rescaling leave the test alone; the seed decides the orders', () => {
    const values = normals(25).map((x, i) => x + (i > 12 ? 0.8 : 0));
    const here = available(changePointTest(values));
    const there = available(changePointTest(values.map((x) => 1000 * x + 7)));
    expect(there).toMatchObject({
      changePoint: here.changePoint,
      pValue: here.pValue,
      plausible: here.plausible,
    });
    const other = available(changePointTest(values, { seed: 2 }));
    expect(other.explainedShare).toBe(here.explainedShare);
    expect(other.pValue).not.toBe(here.pValue);
  });

  test('drop widens the plausible starts', () => {
    const values = [1, 2, 1, 2, 1, 3, 4, 3, 4, 3];
    const starts = (drop: number) => available(changePointTest(values, { drop, permutations: 99 })).plausible;
    expect(
      available(changePointTest(values, { drop: 1000, significance: 0.5, permutations: 99 })).message,
    ).toContain('starts from value 2 to value 10 are plausible');
    expect(starts(0)).toEqual([5]);
    expect(starts(1000)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9]);
    expect(available(changePointTest([0, 1e-9, 0, 1, 1, 1], { permutations: 99 })).plausible).toEqual([3]);
  });

  test('few or equal values have no answer', () => {
    expect(changePointTest([1, 2, 3, 4])).toMatchObject({
      reason: 'too-few-values',
      message: 'Five values are needed to look for a step; there are 4. Measure more.',
    });
    expect(changePointTest([1, 1, 1, 1, 1])).toMatchObject({ reason: 'no-variation' });
  });

  test.each([
    [{ significance: 1 }, 'out-of-range', 'options.significance'],
    [{ permutations: 98 }, 'out-of-range', 'options.permutations'],
    [{ permutations: 99.5 }, 'not-an-integer', 'options.permutations'],
    [{ seed: Infinity }, 'not-finite', 'options.seed'],
    [{ drop: -0.1 }, 'out-of-range', 'options.drop'],
    [{ drop: 1000.1 }, 'out-of-range', 'options.drop'],
  ])('%j is refused: %s at %s', (options, code, argument) => {
    expect(() => changePointTest([1, 2, 3, 4, 5], options)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });

  test('too much work is refused', () => {
    expect(() => changePointTest(new Array(1001).fill(1), { permutations: 100_000 })).toThrowError(
      expect.objectContaining({ code: 'out-of-range', argument: 'options.permutations' }),
    );
  });
});
