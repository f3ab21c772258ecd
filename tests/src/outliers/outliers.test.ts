import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { boxPlotFences, dixonTest, generalizedDeviateTest, grubbsTest } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { dixonRatio } from '../../../src/outliers/dixon-tail.ts';
import { criticalRatio } from '../../../src/outliers/dixon-test.ts';
import { criticalDeviate } from '../../../src/outliers/grubbs-test.ts';
import { known } from '../known.ts';

const reading = fc.integer({ min: -300, max: 300 }).map((n) => n / 10);
const readings = fc
  .array(reading, { minLength: 4, maxLength: 20 })
  .filter((values) => values.some((value) => value !== values[0]));

describe('Grubbs', () => {
  test('has the critical values of the tables', () => {
    // Source: table of Grubbs and Beck, Technometrics 14 (1972) 847-854, upper 5 % and 2.5 % points (cited from memory).
    const table = [
      [3, 1.153, 1.155],
      [5, 1.672, 1.715],
      [10, 2.176, 2.29],
      [20, 2.557, 2.709],
      [30, 2.745, 2.908],
    ];
    for (const [count, five, half] of table) {
      // The table rounds, and its smallest entries were computed another way: two units of the last place.
      expect(Math.abs(criticalDeviate(0.05 / count!, count!) - five!)).toBeLessThan(0.002);
      expect(Math.abs(criticalDeviate(0.025 / count!, count!) - half!)).toBeLessThan(0.002);
    }
  });

  test('does not mind unit, origin or order; a mirror swaps the sides', () => {
    fc.assert(
      fc.property(readings, (values) => {
        const one = known(grubbsTest(values, { side: 'upper' }));
        const mirrored = known(
          grubbsTest(
            values.map((value) => 500 - 25.4 * value),
            { side: 'lower' },
          ),
        );
        expect(mirrored.statistic).toBeCloseTo(one.statistic, 9);
        expect(mirrored.pValue).toBeCloseTo(one.pValue, 7);
        expect(one.value).toBe(Math.max(...values));
        expect(one.index).toBe(values.indexOf(one.value));
        const two = known(grubbsTest(values));
        const lower = known(grubbsTest(values, { side: 'lower' }));
        expect(two.statistic).toBeCloseTo(Math.max(one.statistic, lower.statistic), 12);
        expect(two.criticalValue).toBeGreaterThan(one.criticalValue);
      }),
    );
  });

  test('p-value and critical value are one thing', () => {
    fc.assert(
      fc.property(readings, fc.constantFrom(0.9, 0.95, 0.99), (values, confidence) => {
        const { pValue, isOutlier } = known(grubbsTest(values, { confidence }));
        expect(isOutlier).toBe(pValue < 1 - confidence);
      }),
    );
    // The one reading among equal ones is as far out as a reading can be.
    expect(known(grubbsTest([1, 1, 1, 1, 2])).pValue).toBeLessThan(1e-10);
    expect(known(grubbsTest([1, 2, 3], { confidence: 0.5 })).pValue).toBe(1);
  });

  test('calls an outlier as often as it says where there is none', () => {
    const source = randomSource(41);
    const runs = 2000;
    let called = 0;
    for (let run = 0; run < runs; run++)
      if (
        known(
          grubbsTest(
            Array.from({ length: 10 }, () => source.normal()),
            { confidence: 0.9 },
          ),
        ).isOutlier
      )
        called++;
    // Four standard deviations of a binomial count; the critical value is exact for ten readings at 10 %.
    expect(Math.abs(called - 0.1 * runs)).toBeLessThan(4 * Math.sqrt(runs * 0.09));
  });

  test('speaks of the reading, not of deleting it', () => {
    expect(known(grubbsTest([1, 2, 1, 2, 1, 2, 99])).message).toContain(
      'never a reason to delete it silently',
    );
    expect(known(grubbsTest([1, 2, 1, 2, 1, 2])).message).toContain('No reading stands out');
  });

  test('needs spread, three readings and a known side', () => {
    expect(grubbsTest([2, 2, 2])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(() => grubbsTest([1, 2])).toThrow('values: At least 3');
    expect(() => grubbsTest([1, 2, 3], { side: 'left' as 'upper' })).toThrow('options.side: ');
    expect(() => grubbsTest([1, 2, 3], { confidence: 1 })).toThrow('options.confidence: ');
  });
});

describe('generalized extreme studentized deviate', () => {
  // Source: Rosner (1983), in the NIST/SEMATECH e-Handbook, 1.3.5.17.3 (cited from memory; the printed statistics and
  // critical values are reproduced from the data). The page cuts off after three decimals.
  const data = [
    -0.25, 0.68, 0.94, 1.15, 1.2, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.7,
    1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.1, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.4,
    2.47, 2.54, 2.62, 2.64, 2.9, 2.92, 2.92, 2.93, 3.21, 3.26, 3.3, 3.59, 3.68, 4.3, 4.64, 5.34, 5.42, 6.01,
  ];

  test('finds three outliers that hide each other', () => {
    const result = known(generalizedDeviateTest(data, { most: 10 }));
    const cut = (value: number) => Math.floor(value * 1000) / 1000;
    expect(result.steps.map(({ statistic }) => cut(statistic))).toEqual([
      3.118, 2.942, 3.179, 2.81, 2.815, 2.848, 2.279, 2.31, 2.101, 2.067,
    ]);
    expect(result.steps.map(({ criticalValue }) => cut(criticalValue))).toEqual([
      3.158, 3.151, 3.143, 3.136, 3.128, 3.12, 3.111, 3.103, 3.094, 3.085,
    ]);
    expect(result.outliers).toEqual([53, 52, 51]);
    expect(result.message).toContain('never a reason to delete it silently');
    // Two steps do not reach far enough to see the three.
    expect(known(generalizedDeviateTest(data, { most: 2 })).outliers).toEqual([]);
  });

  test('with one step is the two-sided test of Grubbs', () => {
    fc.assert(
      fc.property(readings, (values) => {
        const { steps } = known(generalizedDeviateTest(values, { most: 1 }));
        const { index, statistic, criticalValue } = known(grubbsTest(values));
        expect(steps).toMatchObject([{ index, statistic, criticalValue }]);
      }),
    );
  });

  test('ends where the rest are equal, and refuses what it cannot look for', () => {
    expect(known(generalizedDeviateTest([1, 1, 1, 1, 1, 9], { most: 4 })).steps).toHaveLength(1);
    expect(generalizedDeviateTest([1, 1, 1, 1], { most: 2 })).toMatchObject({
      available: false,
      reason: 'no-variation',
    });
    expect(() => generalizedDeviateTest([1, 2, 3], { most: 2 })).toThrow('options.most: ');
    expect(() => generalizedDeviateTest([1, 2, 3], { most: 0 })).toThrow('options.most: ');
    expect(() => generalizedDeviateTest([1, 2], { most: 1 })).toThrow('values: ');
    expect(() => generalizedDeviateTest([1, 2, 3], { most: 1, confidence: 0 })).toThrow(
      'options.confidence: ',
    );
  });
});

describe('Dixon', () => {
  test('has the critical values of the tables', () => {
    // Source: Dixon (1953), upper 5 % points (cited from memory). The table was interpolated by hand and is up to 0.003 off.
    const table = [
      [3, 0.941],
      [4, 0.765],
      [5, 0.642],
      [7, 0.507],
      [8, 0.554],
      [10, 0.477],
      [11, 0.576],
      [13, 0.521],
      [14, 0.546],
      [20, 0.45],
      [30, 0.376],
    ];
    for (const [count, value] of table)
      expect(Math.abs(criticalRatio(0.05, count!) - value!)).toBeLessThan(0.003);
    // Three normal readings less their mean have a uniform direction in the plane; sorted, it lies in a sector of 60°. The
    // ratio is (1 − √3 tan θ)/2 for θ from −30° (worked out here; no source).
    const angle = Math.PI * (0.05 / 3 - 1 / 6);
    expect(criticalRatio(0.05, 3)).toBeCloseTo((1 - Math.sqrt(3) * Math.tan(angle)) / 2, 8);
  });

  test.each([5, 9, 12, 16])(
    'calls an outlier as often as it says where there is none (%d readings)',
    (count) => {
      const source = randomSource(count);
      const critical = criticalRatio(0.1, count);
      const runs = 8000;
      let called = 0;
      const { gap, leftOut } = dixonRatio(count);
      for (let run = 0; run < runs; run++) {
        const sorted = Array.from({ length: count }, () => source.normal()).sort((a, b) => b - a);
        if ((sorted[0]! - sorted[gap]!) / (sorted[0]! - sorted[count - 1 - leftOut]!) > critical) called++;
      }
      // Four standard deviations of a binomial count.
      expect(Math.abs(called - 0.1 * runs)).toBeLessThan(4 * Math.sqrt(runs * 0.09));
    },
  );

  test('takes the ratio that suits the sample size', () => {
    const of = (count: number) => known(dixonTest(Array.from({ length: count }, (_, k) => k * k)));
    expect(of(7)).toMatchObject({ ratio: 'r10', statistic: (36 - 25) / 36 });
    expect(of(8)).toMatchObject({ ratio: 'r11', statistic: (49 - 36) / (49 - 1) });
    expect(of(10).ratio).toBe('r11');
    expect(of(11)).toMatchObject({ ratio: 'r21', statistic: (100 - 64) / (100 - 1) });
    expect(of(13).ratio).toBe('r21');
    expect(of(14)).toMatchObject({ ratio: 'r22', statistic: (169 - 121) / (169 - 4) });
  });

  test('a mirror swaps the sides; p-value and critical value are one thing', () => {
    fc.assert(
      fc.property(readings, fc.constantFrom(0.9, 0.99), (values, confidence) => {
        const one = dixonTest(values, { side: 'upper', confidence });
        const mirrored = dixonTest(
          values.map((value) => 500 - 2 * value),
          { side: 'lower', confidence },
        );
        expect(mirrored.available).toBe(one.available);
        if (!one.available || !mirrored.available) return;
        expect(mirrored.statistic).toBeCloseTo(one.statistic, 9);
        expect(mirrored.criticalValue).toBe(one.criticalValue);
        if (Math.abs(one.statistic - one.criticalValue) > 1e-9)
          expect(one.isOutlier).toBe(one.pValue < 1 - confidence);
        expect(one.value).toBe(Math.max(...values));
        expect(values[one.index]).toBe(one.value);
      }),
      { numRuns: 40 },
    );
    expect(known(dixonTest([1, 2, 3, 4, -20]))).toMatchObject({ value: -20, index: 4, isOutlier: true });
  });

  test('needs a span, three to thirty readings and a known side', () => {
    expect(dixonTest([2, 2, 2])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(dixonTest([1, 5, 5, 5, 5, 5, 5, 5], { side: 'upper' }).available).toBe(false);
    expect(dixonTest([1, 5, 5, 5, 5, 5, 5, 5], { side: 'lower' }).available).toBe(true);
    expect(() => dixonTest([1, 2])).toThrow('values: At least 3');
    expect(() => dixonTest(new Array(31).fill(1))).toThrow('at most 30');
    expect(() => dixonTest([1, 2, 3], { side: 'left' as 'upper' })).toThrow('options.side: ');
    expect(() => dixonTest([1, 2, 3], { confidence: 1 })).toThrow('options.confidence: ');
  });
});

describe('box plot', () => {
  test.each([
    // n = 4i + f: fourths are means of two readings where f = 0, else single readings.
    [[1, 2, 3, 4], 2.5, 1.5, 3.5],
    [[1, 2, 3, 4, 5], 3, 2, 4],
    [[1, 2, 3, 4, 5, 6], 3.5, 2, 5],
    [[1, 2, 3, 4, 5, 6, 7], 4, 2, 6],
    [[8, 7, 6, 5, 4, 3, 2, 1], 4.5, 2.5, 6.5],
  ])('of %j', (values, median, lowerFourth, upperFourth) => {
    const box = upperFourth - lowerFourth;
    expect(boxPlotFences(values)).toMatchObject({
      median,
      lowerFourth,
      upperFourth,
      lowerInnerFence: lowerFourth - 1.5 * box,
      upperInnerFence: upperFourth + 1.5 * box,
      lowerOuterFence: lowerFourth - 3 * box,
      upperOuterFence: upperFourth + 3 * box,
      outside: [],
    });
  });

  test('a reading on a fence is inside; fences follow the unit and the mirror', () => {
    const values = [1, 2, 3, 4, 5, 6, 7, 12.5, -3.5];
    expect(boxPlotFences([1, 2, 3, 4, 5, 6, 7, 12.5]).outside).toEqual([]);
    expect(boxPlotFences([1, 2, 3, 4, 5, 6, 7, 12.6])).toMatchObject({ outside: [7], farOut: [] });
    expect(boxPlotFences([-30, 2, 3, 4, 5, 6, 7, 8])).toMatchObject({ outside: [0], farOut: [0] });
    fc.assert(
      fc.property(readings, (given) => {
        const one = boxPlotFences(given);
        const mirrored = boxPlotFences(given.map((value) => -2 * value));
        expect(mirrored.upperInnerFence).toBeCloseTo(-2 * one.lowerInnerFence, 9);
        expect(mirrored.median).toBeCloseTo(-2 * one.median, 9);
      }),
    );
    expect(boxPlotFences(values).count).toBe(9);
  });

  test('draws about 1 in 140 of normal readings apart', () => {
    const source = randomSource(77);
    const values = Array.from({ length: 40_000 }, () => source.normal());
    // 2 · P(Z > 2.698) = 0.00698 (the fences of a normal population lie at 4 · 0.6745).
    expect(boxPlotFences(values).outside.length / values.length).toBeCloseTo(0.00698, 2.5);
    expect(boxPlotFences(values).message).toContain('never a reason');
  });

  test('refuses too few readings and fences without end', () => {
    expect(() => boxPlotFences([1, 2, 3])).toThrow('values: At least 4');
    expect(() => boxPlotFences([-1.7e308, -1.7e308, 1.7e308, 1.7e308])).toThrow('leave the range');
  });
});
