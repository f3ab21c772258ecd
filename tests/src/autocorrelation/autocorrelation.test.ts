import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  autocorrelations,
  autocorrelationTest,
  falseAlarmsUnderAutocorrelation,
  fitAutoregression,
  individualsAndMovingRangeChart,
  lagOneAutocorrelation,
} from '../../../src/index.ts';
import { normalUpperTail } from '../../../src/numerics/normal.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { reading } from '../generators.ts';

function available<T>(outcome: { available: boolean } & T) {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<typeof outcome, { available: true }>;
}

/** A stable process that remembers its last value. */
function autoregressive(coefficient: number, count: number, seed: number): number[] {
  const random = randomSource(seed);
  const noise = Math.sqrt(1 - coefficient * coefficient);
  let value = random.normal();
  return Array.from({ length: count }, () => {
    const now = value;
    value = coefficient * value + noise * random.normal();
    return now;
  });
}

const series = fc.array(reading, { minLength: 4, maxLength: 40 });

describe('autocorrelations', () => {
  test('lag 1 is that of lagOneAutocorrelation; other units, reversal and sign leave all lags alone', () => {
    fc.assert(
      fc.property(series, fc.integer({ min: 1, max: 6 }), (values, lags) => {
        const here = autocorrelations(Object.freeze(values), { lags });
        if (!here.available) {
          expect(['too-few-values', 'no-variation']).toContain(here.reason);
          return;
        }
        expect(here.lags[0]!.correlation).toBe(available(lagOneAutocorrelation(values)).correlation);
        expect(here.lags.map(({ lag }) => lag)).toEqual(Array.from({ length: lags }, (_, k) => k + 1));
        for (const other of [values.map((x) => 5 - 1000 * x), values.toReversed()]) {
          const there = available(autocorrelations(other, { lags }));
          here.lags.forEach(({ correlation, expected, standardError, pValue }, index) => {
            expect(there.lags[index]!.correlation).toBeCloseTo(correlation, 9);
            expect(there.lags[index]!.pValue).toBeCloseTo(pValue, 8);
            expect(Math.abs(correlation)).toBeLessThanOrEqual(1);
            const z = Math.abs(correlation - expected) / standardError;
            expect(pValue).toBeCloseTo(2 * normalUpperTail(z), 12);
          });
        }
      }),
    );
  });

  test('mean and standard deviation of independent values, in closed form at lag 1', () => {
    for (const n of [4, 10, 200]) {
      const { expected, standardError } = available(
        autocorrelations(Array.from({ length: n }, (_, i) => (i * i) % 7)),
      ).lags[0]!;
      expect(expected).toBeCloseTo(-1 / n, 14);
      expect(standardError).toBeCloseTo((n - 2) / (n * Math.sqrt(n - 1)), 14);
    }
  });

  test('over all orders of a sample the correlation at lag 1 averages −1/n', () => {
    const orders = (values: readonly number[]): number[][] =>
      values.length < 2
        ? [[...values]]
        : values.flatMap((value, place) =>
            orders(values.filter((_, i) => i !== place)).map((rest) => [value, ...rest]),
          );
    const all = orders([1, 2, 4, 7, 7.5]).map(
      (values) => available(autocorrelations(values)).lags[0]!.correlation,
    );
    expect(all.reduce((sum, r) => sum + r, 0) / all.length).toBeCloseTo(-1 / 5, 12);
  });

  test.each([
    [[1, 2, 3], 1, '4 values are needed; there are 3.'],
    [[1, 2, 3, 5], 3, '5 values are needed; there are 4.'],
  ])('%j at %d lags: too few', (values, lags, words) => {
    expect(autocorrelations(values, { lags })).toMatchObject({
      available: false,
      reason: 'too-few-values',
      message: expect.stringContaining(words),
    });
  });

  test.each([
    [[], {}, 'empty', 'values'],
    [[1, Number.NaN], {}, 'not-finite', 'values.1'],
    [[1, 2, 3, 4], { lags: 0 }, 'out-of-range', 'options.lags'],
    [[1, 2, 3, 4], { lags: 1001 }, 'out-of-range', 'options.lags'],
    [[1, 2, 3, 4], { lags: 1.5 }, 'not-an-integer', 'options.lags'],
  ])('%j with %j is refused: %s at %s', (values, options, code, argument) => {
    expect(() => autocorrelations(values, options)).toThrowError(expect.objectContaining({ code, argument }));
  });

  test('equal values have none', () => {
    expect(autocorrelations([3, 3, 3, 3, 3])).toMatchObject({ reason: 'no-variation' });
  });
});

describe('autocorrelationTest', () => {
  test('names drift, over-adjustment and neither, with what to do', () => {
    expect(available(autocorrelationTest(autoregressive(0.7, 100, 1)))).toMatchObject({
      pattern: 'slow drift',
      message: expect.stringMatching(
        /^Neighbouring values are alike \(lag-1 correlation 0\.\d\d, p below 0\.001\).*too small, so about [\d.]+ % of good points would lie outside its limits instead of 0\.27 %.*residual chart\.$/,
      ),
    });
    expect(available(autocorrelationTest(autoregressive(-0.7, 100, 1)))).toMatchObject({
      pattern: 'over-adjustment suspected',
      message: expect.stringMatching(
        /over-adjustment suspected.*too wide.*Do not adjust after single values/,
      ),
    });
    const neither = available(autocorrelationTest(autoregressive(0, 100, 1)));
    expect(neither.pattern).toBe('none proven');
    expect(neither.message).toMatch(
      /^No correlation of neighbouring values is proven \(lag-1 correlation -?0\.\d\d, p = 0\.\d{3}\)\. The ordinary chart applies\.$/,
    );
  });

  test('a correction of the whole last deviation (the funnel of rule 2) shows as a lag-1 correlation near −0.5', () => {
    const random = randomSource(3);
    const noise = Array.from({ length: 401 }, () => random.normal());
    const { correlation, pattern } = available(
      autocorrelationTest(noise.slice(1).map((x, i) => x - noise[i]!)),
    );
    // Standard error about 0.05.
    expect(Math.abs(correlation + 0.5)).toBeLessThan(0.15);
    expect(pattern).toBe('over-adjustment suspected');
  });

  test('permutations count exactly on a small sample', () => {
    // All 24 orders of these four values: |r + 1/4| is at least as large in 8 of them, so p tends to 1/3.
    const values = [0, 1, 10, 11];
    const far = available(autocorrelationTest(values, { permutations: 20_000, seed: 5 }));
    expect(far.pValueMethod).toBe('permutation');
    const orders = [0, 1, 2, 3].flatMap((a) =>
      [0, 1, 2, 3].flatMap((b) =>
        [0, 1, 2, 3].flatMap((c) => {
          const order = [a, b, c, 6 - a - b - c];
          return new Set(order).size === 4 && order.every((k) => k >= 0 && k < 4) ? [order] : [];
        }),
      ),
    );
    expect(orders).toHaveLength(24);
    const distance = (order: readonly number[]) =>
      Math.abs(available(autocorrelations(order.map((k) => values[k]!))).lags[0]!.correlation + 0.25);
    const share = orders.filter((order) => distance(order) >= distance([0, 1, 2, 3]) - 1e-9).length / 24;
    expect(far.pValue).toBeCloseTo(share, 1);
    expect(Math.abs(far.pValue - share)).toBeLessThan(4 * Math.sqrt((share * (1 - share)) / 20_000));
  });

  test('the same seed gives the same p-value, another one nearly so, and the normal approximation is near', () => {
    const values = autoregressive(0.25, 60, 9);
    const p = (options: object) => available(autocorrelationTest(values, options)).pValue;
    expect(p({ permutations: 999, seed: 2 })).toBe(p({ permutations: 999, seed: 2 }));
    expect(p({ permutations: 999, seed: 2 })).not.toBe(p({ permutations: 999, seed: 3 }));
    expect(Math.abs(p({ permutations: 4999 }) - p({}))).toBeLessThan(0.03);
  });

  test('the significance decides the pattern', () => {
    const values = autoregressive(0.25, 60, 9);
    const { pValue } = available(autocorrelationTest(values));
    expect(available(autocorrelationTest(values, { significance: pValue * 0.99 })).pattern).toBe(
      'none proven',
    );
    expect(available(autocorrelationTest(values, { significance: pValue })).pattern).toBe('none proven');
    expect(available(autocorrelationTest(values, { significance: pValue * 1.01 })).pattern).not.toBe(
      'none proven',
    );
  });

  test('independent values are called correlated as often as the significance says', () => {
    let called = 0;
    for (let seed = 1; seed <= 1000; seed++)
      if (
        available(autocorrelationTest(autoregressive(0, 40, seed), { significance: 0.05 })).pattern !==
        'none proven'
      )
        called++;
    // 4.9 % of 1000, with four standard errors of 6.8.
    expect(Math.abs(called - 49)).toBeLessThan(27);
  });

  test.each([
    [{ significance: 0 }, 'out-of-range', 'options.significance'],
    [{ permutations: -1 }, 'out-of-range', 'options.permutations'],
    [{ permutations: 100_001 }, 'out-of-range', 'options.permutations'],
    [{ seed: Number.NaN }, 'not-finite', 'options.seed'],
  ])('%j is refused: %s at %s', (options, code, argument) => {
    expect(() => autocorrelationTest([1, 2, 3, 2, 1], options)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });

  test('too many values times permutations are refused before any work', () => {
    expect(() => autocorrelationTest(new Array(1001).fill(1), { permutations: 100_000 })).toThrowError(
      expect.objectContaining({ code: 'out-of-range', argument: 'options.permutations' }),
    );
    expect(autocorrelationTest(new Array(1000).fill(1), { permutations: 100_000 })).toMatchObject({
      reason: 'no-variation',
    });
  });
});

describe('falseAlarmsUnderAutocorrelation', () => {
  test('the chart of individuals does what the theory says', () => {
    // Limits from a long baseline of the same process.
    for (const [coefficient, count] of [
      [0.6, 20_000],
      [-0.4, 60_000],
    ] as const) {
      const values = autoregressive(coefficient, count, 11);
      const chart = available(individualsAndMovingRangeChart(values));
      const theory = falseAlarmsUnderAutocorrelation(coefficient);
      expect(chart.standard.withinSubgroupStandardDeviation).toBeCloseTo(theory.standardDeviationRatio, 1.9);
      const outside = chart.location.points.filter(({ beyondLimits }) => beyondLimits).length;
      // About 1160 and 23 points outside are expected; they come in groups.
      const error = (4 * 1.5) / Math.sqrt(values.length * theory.falseAlarmRate);
      expect(Math.abs(outside / values.length / theory.falseAlarmRate - 1)).toBeLessThan(error);
    }
  });

  test('without memory the ordinary figures come out', () => {
    const plain = falseAlarmsUnderAutocorrelation(0);
    expect(plain.standardDeviationRatio).toBe(1);
    expect(plain.falseAlarmRate).toBe(plain.independentFalseAlarmRate);
    expect(plain.falseAlarmRate).toBeCloseTo(0.0026997960632602, 15);
    expect(plain.averageRunLength).toBeCloseTo(370.398347345, 6);
  });

  test('false alarms grow with the coefficient, and what cannot be reached is null', () => {
    const lengths = [-0.5, -0.2, 0, 0.3, 0.7, 0.99].map((phi) => falseAlarmsUnderAutocorrelation(phi));
    const rates = lengths.map(({ falseAlarmRate }) => falseAlarmRate);
    expect(rates).toEqual(rates.toSorted((a, b) => a - b));
    // They come in groups: the run length is longer than one over the rate where values drift.
    expect(lengths[4]!.averageRunLength! * lengths[4]!.falseAlarmRate).toBeGreaterThan(1.2);
    expect(falseAlarmsUnderAutocorrelation(-0.99, { multiple: 6 }).averageRunLength).toBeNull();
  });

  test.each([
    [1, {}, 'coefficient'],
    [-1, {}, 'coefficient'],
    [0, { multiple: 0 }, 'options.multiple'],
    [0, { multiple: 6.1 }, 'options.multiple'],
  ])('%d with %j is refused at %s', (coefficient, options, argument) => {
    expect(() => falseAlarmsUnderAutocorrelation(coefficient, options)).toThrowError(
      expect.objectContaining({ code: 'out-of-range', argument }),
    );
  });
});

describe('fitAutoregression', () => {
  test('finds the process again', () => {
    const fitted = available(fitAutoregression(autoregressive(0.6, 5000, 7).map((x) => 50 + 3 * x)));
    expect(fitted.coefficient).toBeCloseTo(0.6, 1);
    expect(Math.abs(fitted.coefficient - 0.6)).toBeLessThan(4 * fitted.coefficientStandardError);
    expect(fitted.residualStandardDeviation / (3 * 0.8)).toBeCloseTo(1, 1.3);
    expect(fitted.mean).toBeCloseTo(50, 0);
    expect(fitted.pairs).toBe(4999);
  });

  test('other units rescale the mean and the residuals, not the coefficient', () => {
    fc.assert(
      fc.property(fc.array(reading, { minLength: 6, maxLength: 30 }), (values) => {
        const here = fitAutoregression(values);
        // Near ±1 the mean is hardly determined at all.
        if (!here.available || Math.abs(here.coefficient) > 0.98) return;
        const there = available(fitAutoregression(values.map((x) => 1000 * x + 5)));
        expect(there.coefficient).toBeCloseTo(here.coefficient, 8);
        expect(there.residualStandardDeviation / here.residualStandardDeviation / 1000).toBeCloseTo(1, 8);
        expect((there.mean - 5) / 1000).toBeCloseTo(here.mean, 6);
      }),
    );
  });

  test('a missing value leaves no pair across it', () => {
    expect(available(fitAutoregression([1, 2, 1, 3, null, 1, 3, 2])).pairs).toBe(5);
  });

  test.each([
    [[1, 2, 3, 4], 'too-few-values'],
    [[1, null, 3, null, 2, null, 1, null, 5], 'too-few-values'],
    [[2, 2, 2, 2, 2, 2], 'no-variation'],
    [[1, 2, 4, 8, 16, 32.1], 'outside-method'],
    [[1, 2, 1, 2, 1, 2, 1], 'no-variation'],
  ])('%j: %s', (values, reason) => {
    expect(fitAutoregression(values)).toMatchObject({ available: false, reason });
  });

  test.each([
    [[], 'empty', 'values'],
    [[1, Infinity], 'not-finite', 'values.1'],
  ])('%j is refused: %s at %s', (values, code, argument) => {
    expect(() => fitAutoregression(values)).toThrowError(expect.objectContaining({ code, argument }));
  });
});
