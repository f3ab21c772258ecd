/** Charts of counts: rules that hold for any data, the three ways to the same point, edges, and false alarms by simulation. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { largestValue } from '../../../src/charts/attributes/attributes-family.ts';
import { npFamily } from '../../../src/charts/attributes/np-chart.ts';
import { pFamily } from '../../../src/charts/attributes/p-chart.ts';
import { uFamily } from '../../../src/charts/attributes/u-chart.ts';
import {
  type AttributesChartOptions,
  type CountSample,
  cChart,
  cColumns,
  cPoint,
  npChart,
  npColumns,
  npPoint,
  pChart,
  pColumns,
  pPoint,
  pPrimeChart,
  pPrimeColumns,
  pPrimePoint,
  uChart,
  uColumns,
  uPoint,
  uPrimeChart,
  uPrimeColumns,
  uPrimePoint,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { available, binomialSampler, poissonSampler, refusal } from './count-samplers.ts';

const size = fc.integer({ min: 20, max: 400 });
const sample: fc.Arbitrary<CountSample> = size.chain((n) =>
  fc.record({ count: fc.nat({ max: Math.min(n, 30) }), size: fc.constant(n) }),
);
const samples = fc.array(sample, { minLength: 2, maxLength: 30 });
const options = fc.constantFrom<AttributesChartOptions>(
  {},
  { multiple: 1 },
  { multiple: 2.5 },
  { falseAlarmProbability: 0.00135 },
  { falseAlarmProbability: 0.05 },
);

const charts = [
  { name: 'p', chart: pChart, point: pPoint, columns: pColumns, family: pFamily, given: 0.05 },
  { name: 'np', chart: npChart, point: npPoint, columns: npColumns, family: npFamily, given: 0.05 },
  { name: 'u', chart: uChart, point: uPoint, columns: uColumns, family: uFamily, given: 0.05 },
] as const;

describe.each(charts)('$name chart', ({ chart, point, columns, family, given }) => {
  test('chart, live and columns give the same points', () => {
    fc.assert(
      fc.property(samples, options, (data, how) => {
        const whole = available(chart(data, { ...how, standard: given }));
        const filled = columns(
          Float64Array.from(data, ({ count }) => count),
          Float64Array.from(data, (one) => one.size),
          { ...how, standard: given },
        );
        whole.points.forEach((expected, index) => {
          expect(point(data[index]!, { ...how, standard: given })).toEqual({ ...expected, index: 0 });
          const { lowerControlLimit, upperControlLimit } = expected.limits!;
          expect(filled.values[index]).toBe(expected.value);
          expect(filled.lowerControlLimits[index]).toBe(lowerControlLimit ?? 0);
          expect(filled.upperControlLimits[index]).toBe(
            upperControlLimit ?? largestValue(family, expected.size),
          );
          expect(filled.beyondLimits[index]).toBe(
            expected.beyondLimits ? (expected.value! > expected.limits!.centerLine ? 1 : 2) : 0,
          );
        });
        expect(whole.signals).toEqual(
          whole.points.flatMap(({ beyondLimits, index }) => (beyondLimits ? [index] : [])),
        );
      }),
      { numRuns: 30 },
    );
  });

  test('the order of the samples changes neither center line nor limits', () => {
    fc.assert(
      fc.property(samples, (data) => {
        const forward = available(chart(data));
        const backward = available(chart([...data].reverse()));
        expect(backward.basis).toEqual(forward.basis);
        expect([...backward.points].reverse().map(({ limits }) => limits)).toEqual(
          forward.points.map(({ limits }) => limits),
        );
      }),
      { numRuns: 30 },
    );
  });

  test('wider multiples contain narrower ones, and so do rarer false alarms', () => {
    const settings = { standard: given };
    const wide = (how: AttributesChartOptions) => {
      const { lowerControlLimit, upperControlLimit } = point({ count: 0, size: 500 }, { ...settings, ...how })
        .limits!;
      return [lowerControlLimit ?? 0, upperControlLimit!] as const;
    };
    for (const [narrow, far] of [
      [wide({ multiple: 2 }), wide({ multiple: 3 })],
      [wide({ falseAlarmProbability: 0.01 }), wide({ falseAlarmProbability: 0.0001 })],
    ] as const) {
      expect(far[0]).toBeLessThan(narrow[0]);
      expect(far[1]).toBeGreaterThan(narrow[1]);
    }
  });

  test('a missing sample leaves a gap and nothing else', () => {
    const data = [{ count: 3, size: 100 }, null, { count: 5, size: 120 }];
    const { points, basis } = available(chart(data));
    expect(points[1]).toEqual({ index: 1, value: null, size: 0, limits: null, beyondLimits: false });
    expect(basis).toEqual({
      standard: 8 / 220,
      origin: 'estimated',
      samples: 2,
      totalSize: 220,
      totalCount: 8,
    });
    expect(point(null, { standard: given })).toEqual({ ...points[1], index: 0 });
  });

  test('a given standard counts the samples, and does not use them', () => {
    expect(available(chart([{ count: 3, size: 100 }], { standard: given })).basis).toEqual({
      standard: given,
      origin: 'given',
      samples: 1,
      totalSize: 100,
      totalCount: 3,
    });
  });

  test('without any sample there is nothing to draw', () => {
    expect(chart([null, null])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(refusal(() => chart([]))).toBe('empty samples');
  });

  test('frozen samples stay as they are', () => {
    const data = Object.freeze([Object.freeze({ count: 3, size: 100 })]);
    expect(() => chart(data, Object.freeze({}))).not.toThrow();
  });

  test('wrong samples and settings are named', () => {
    expect(
      refusal(() =>
        chart([
          { count: 1, size: 9 },
          { count: 1.5, size: 9 },
        ]),
      ),
    ).toBe('not-an-integer samples.1.count');
    expect(refusal(() => chart([{ count: -1, size: 9 }]))).toBe('out-of-range samples.0.count');
    expect(refusal(() => chart([{ count: 2 ** 53, size: 2 ** 53 - 1 }]))).toBe(
      'out-of-range samples.0.count',
    );
    expect(refusal(() => chart([{ count: 1, size: 0 }]))).toBe('out-of-range samples.0.size');
    expect(refusal(() => chart([{ count: 1, size: Number.NaN }]))).toBe('not-finite samples.0.size');
    expect(refusal(() => chart([{ count: 1, size: 9 }], { multiple: 0 }))).toBe(
      'out-of-range options.multiple',
    );
    expect(refusal(() => chart([{ count: 1, size: 9 }], { falseAlarmProbability: 0.6 }))).toBe(
      'out-of-range options.falseAlarmProbability',
    );
    expect(refusal(() => chart([{ count: 1, size: 9 }], { standard: -0.1 }))).toBe(
      'out-of-range options.standard',
    );
    expect(refusal(() => chart([{ count: 1, size: 9 }], { standard: 1e-101 }))).toBe(
      'out-of-range options.standard',
    );
    expect(refusal(() => point({ count: 1, size: 9 }, { standard: Number.NaN }))).toBe(
      'not-finite settings.standard',
    );
    expect(refusal(() => point({ count: -1, size: 9 }, { standard: 0.5 }))).toBe('out-of-range sample.count');
    expect(refusal(() => point(null, { standard: 0.5, multiple: 1001 }))).toBe(
      'out-of-range settings.multiple',
    );
    const [counts, sizes] = [Float64Array.of(1, 0.5), Float64Array.of(9, 9)];
    expect(refusal(() => columns(counts, sizes, { standard: 0.5 }))).toBe('not-an-integer counts.1');
    expect(refusal(() => columns(sizes, Float64Array.of(9, 0), { standard: 0.5 }))).toBe(
      'out-of-range sizes.1',
    );
    expect(refusal(() => columns(counts, Float64Array.of(9), { standard: 0.5 }))).toBe('sizes-differ sizes');
    expect(refusal(() => columns(counts, sizes, { standard: 0.5, multiple: -1 }))).toBe(
      'out-of-range settings.multiple',
    );
    expect(refusal(() => columns(counts, sizes, { standard: -0.5 }))).toBe('out-of-range settings.standard');
  });

  test('exact limits stop at sizes that take long to sum', () => {
    const how = { standard: 0.5, falseAlarmProbability: 0.001 };
    const large = { count: 1, size: 4e8 };
    expect(refusal(() => chart([large], how))).toBe('out-of-range samples.0.size');
    expect(refusal(() => point(large, how))).toBe('out-of-range sample.size');
    expect(refusal(() => columns(Float64Array.of(1), Float64Array.of(4e8), how))).toBe(
      'out-of-range sizes.0',
    );
    expect(point({ count: 1, size: 9e7 }, how).beyondLimits).toBe(true);
  });

  test('columns are filled again when they are passed in', () => {
    const filled = columns(Float64Array.of(1, 9), Float64Array.of(9, 9), { standard: 0.1 });
    expect(columns(Float64Array.of(2, 2), Float64Array.of(9, 9), { standard: 0.1 }, filled)).toBe(filled);
    expect([...filled.values]).toEqual([family.perUnit ? 2 / 9 : 2, family.perUnit ? 2 / 9 : 2]);
    expect(refusal(() => columns(Float64Array.of(2), Float64Array.of(9), { standard: 0.1 }, filled))).toBe(
      'sizes-differ columns.values',
    );
  });
});

describe('what the members of the family plot', () => {
  test('p and np say the same in two units where sizes are equal', () => {
    const counts = [3, 9, 4, 0, 31];
    const data = counts.map((count) => ({ count, size: 100 }));
    const p = available(pChart(data));
    const np = available(npChart(data));
    expect(np.signals).toEqual(p.signals);
    p.points.forEach(({ limits }, index) => {
      const of = np.points[index]!.limits!;
      expect(of.centerLine).toBeCloseTo(100 * limits!.centerLine, 10);
      expect(of.upperControlLimit).toBeCloseTo(100 * limits!.upperControlLimit!, 10);
      expect(of.standardDeviation).toBeCloseTo(100 * limits!.standardDeviation, 10);
    });
  });

  test('u does not change with the unit of size: metres or millimetres', () => {
    const data = [4, 7, 2, 30].map((count, index) => ({ count, size: 2 + index / 4 }));
    const small = data.map((one) => ({ ...one, size: one.size * 1000 }));
    const [metres, millimetres] = [available(uChart(data)), available(uChart(small))];
    expect(millimetres.signals).toEqual(metres.signals);
    metres.points.forEach(({ limits }, index) => {
      expect(millimetres.points[index]!.limits!.upperControlLimit! * 1000).toBeCloseTo(
        limits!.upperControlLimit!,
        10,
      );
    });
  });

  test('c is u of one unit', () => {
    const counts = [4, null, 2, 30, 3, 5];
    const c = available(cChart(counts));
    const u = available(uChart(counts.map((count) => (count === null ? null : { count, size: 1 }))));
    expect(c.points.map(({ limits }) => limits)).toEqual(u.points.map(({ limits }) => limits));
    expect(c.signals).toEqual([3]);
    expect(c.statistic).toBe('number of nonconformities');
  });

  test('a limit at a natural bound does not exist, the one beside it does', () => {
    // n p = 9 (1 − p) puts the lower limit of 3 standard deviations exactly on 0; ISO 7870-2 draws none there.
    expect(npPoint({ count: 0, size: 90 }, { standard: 0.1, multiple: 3 }).limits).toMatchObject({
      centerLine: 9,
      lowerControlLimit: expect.closeTo(0.4618, 3),
    });
    expect(cPoint(0, { standard: 9 }).limits!.lowerControlLimit).toBeNull();
    expect(cPoint(0, { standard: 9.01 }).limits!.lowerControlLimit).toBeGreaterThan(0);
    expect(cPoint(0, { standard: 16 }).limits).toEqual({
      centerLine: 16,
      lowerControlLimit: 4,
      upperControlLimit: 28,
      standardDeviation: 4,
      falseAlarmProbability: null,
    });
    expect(pPoint({ count: 9, size: 10 }, { standard: 0.9 }).limits!.upperControlLimit).toBeNull();
    expect(npPoint({ count: 9, size: 10 }, { standard: 0.9 }).limits!.upperControlLimit).toBeNull();
    expect(npPoint({ count: 9, size: 10 }, { standard: 0.1 }).limits!.upperControlLimit).toBeCloseTo(
      3.846,
      3,
    );
    expect(pPoint({ count: 1, size: 4 }, { standard: 0.5, multiple: 2 }).limits).toMatchObject({
      lowerControlLimit: null,
      upperControlLimit: null,
    });
  });

  test('a count on a limit is inside', () => {
    expect(cPoint(28, { standard: 16 }).beyondLimits).toBe(false);
    expect(cPoint(29, { standard: 16 }).beyondLimits).toBe(true);
    expect(cPoint(4, { standard: 16 }).beyondLimits).toBe(false);
    expect(cPoint(3, { standard: 16 }).beyondLimits).toBe(true);
    expect([...cColumns(Float64Array.of(28, 29, 4, 3, 16), { standard: 16 }).beyondLimits]).toEqual([
      0, 1, 0, 2, 0,
    ]);
  });

  test('a baseline without any event calls every event a signal', () => {
    const chart = available(
      pChart([
        { count: 0, size: 40 },
        { count: 0, size: 40 },
      ]),
    );
    expect(chart.points[0]!.limits).toMatchObject({
      centerLine: 0,
      lowerControlLimit: null,
      upperControlLimit: 0,
    });
    expect(pPoint({ count: 1, size: 40 }, { standard: 0 }).beyondLimits).toBe(true);
    expect(
      pPoint({ count: 0, size: 40 }, { standard: 0, falseAlarmProbability: 0.001 }).limits,
    ).toMatchObject({
      lowerControlLimit: null,
      upperControlLimit: 0,
      falseAlarmProbability: { lower: 0, upper: 0 },
    });
    expect(pPoint({ count: 39, size: 40 }, { standard: 1, falseAlarmProbability: 0.001 })).toMatchObject({
      limits: { lowerControlLimit: 1, upperControlLimit: null },
      beyondLimits: true,
    });
  });

  test('wrong counts of a c chart are named', () => {
    expect(refusal(() => cChart([]))).toBe('empty counts');
    expect(refusal(() => cChart([1, -1]))).toBe('out-of-range counts.1');
    const exact = { falseAlarmProbability: 0.01 };
    expect(cPoint(1, { standard: -0, ...exact }).beyondLimits).toBe(true);
    expect(refusal(() => cPoint(0.5, { standard: 1 }))).toBe('not-an-integer count');
    expect(refusal(() => cPoint(1, { standard: 2e8, falseAlarmProbability: 0.01 }))).toBe(
      'out-of-range settings.standard',
    );
    expect(cPoint(1, { standard: 2e8 }).beyondLimits).toBe(true);
    expect(refusal(() => cColumns(Float64Array.of(1, 0.5), { standard: 1 }))).toBe('not-an-integer counts.1');
    expect(refusal(() => cColumns(Float64Array.of(2 ** 53), { standard: 1 }))).toBe('out-of-range counts.0');
    expect(
      refusal(() => cColumns(Float64Array.of(1), { standard: 1 }, { beyondLimits: new Uint8Array(2) })),
    ).toBe('sizes-differ columns.beyondLimits');
    const again = { beyondLimits: new Uint8Array(1) };
    expect(cColumns(Float64Array.of(9), { standard: 1 }, again)).toBe(again);
    expect(cPoint(null, { standard: 1 }).value).toBeNull();
  });

  test('long series and options are checked as single samples are', () => {
    const filled = (sizes: number[]) => () =>
      pColumns(Float64Array.of(0, 1), Float64Array.from(sizes), { standard: 0.1 });
    expect(refusal(filled([5, 2.5]))).toBe('not-an-integer sizes.1');
    expect(refusal(filled([5, 0]))).toBe('out-of-range sizes.1');
    expect(refusal(() => cChart([1, 2, 3], { falseAlarmProbability: 1 }))).toBe(
      'out-of-range options.falseAlarmProbability',
    );
  });
});

const primes = [
  { name: "p'", chart: pPrimeChart, point: pPrimePoint, columns: pPrimeColumns, plain: pPoint },
  { name: "u'", chart: uPrimeChart, point: uPrimePoint, columns: uPrimeColumns, plain: uPoint },
] as const;

describe.each(primes)('$name chart', ({ chart, point, columns, plain }) => {
  test('chart, live and columns give the same points', () => {
    fc.assert(
      fc.property(samples, fc.constantFrom(0.5, 1, 3), (data, zStandardDeviation) => {
        const settings = { standard: 0.05, zStandardDeviation, multiple: 2 };
        const whole = available(chart(data, settings));
        const filled = columns(
          Float64Array.from(data, ({ count }) => count),
          Float64Array.from(data, (one) => one.size),
          settings,
        );
        whole.points.forEach((expected, index) => {
          expect(point(data[index]!, settings)).toEqual({ ...expected, index: 0 });
          expect(filled.values[index]).toBe(expected.value);
          expect(filled.lowerControlLimits[index]).toBe(expected.limits!.lowerControlLimit ?? 0);
          expect(filled.beyondLimits[index]! > 0).toBe(expected.beyondLimits);
        });
        expect(whole.basis).toMatchObject({
          standard: 0.05,
          zStandardDeviation,
          zOrigin: 'given',
          origin: 'given',
        });
      }),
      { numRuns: 30 },
    );
  });

  test('with a standard deviation of 1 it is the plain chart', () => {
    const one = { count: 9, size: 80 };
    expect(point(one, { standard: 0.05, zStandardDeviation: 1 })).toEqual(plain(one, { standard: 0.05 }));
    expect(chart([one], { standard: 0.05, zStandardDeviation: 1 })).toMatchObject({
      available: true,
      points: [plain(one, { standard: 0.05 })],
      basis: { origin: 'given', zOrigin: 'given' },
    });
  });

  test('nothing is drawn where there is nothing to compare', () => {
    const one = { count: 9, size: 80 };
    expect(chart([one, null, one])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(chart([null])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(chart([one, one])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(
      chart([
        { count: 0, size: 9 },
        { count: 0, size: 9 },
      ]),
    ).toMatchObject({ available: false, reason: 'no-variation' });
  });

  test('a standard deviation out of range is named', () => {
    expect(refusal(() => chart([{ count: 1, size: 9 }], { zStandardDeviation: 0 }))).toBe(
      'out-of-range options.zStandardDeviation',
    );
    expect(refusal(() => point(null, { standard: 0.1, zStandardDeviation: 2e6 }))).toBe(
      'out-of-range settings.zStandardDeviation',
    );
    expect(
      refusal(() =>
        columns(Float64Array.of(1), Float64Array.of(1), { standard: 0.1, zStandardDeviation: -1 }),
      ),
    ).toBe('out-of-range settings.zStandardDeviation');
    expect(refusal(() => chart([{ count: 1, size: 9 }], { multiple: Number.NaN }))).toBe(
      'not-finite options.multiple',
    );
  });
});

describe('false alarms by simulation (fixed seed, bands of 4 standard errors)', () => {
  const rate = (flags: Uint8Array, side: number) =>
    flags.filter((flag) => flag === side).length / flags.length;
  const near = (found: number, expected: number, n: number) => {
    const error = Math.sqrt((expected * (1 - expected)) / n);
    expect(Math.abs(found - expected)).toBeLessThan(4 * error + 1e-12);
  };

  test('exact limits keep the probabilities they state', () => {
    const n = 200_000;
    const source = randomSource(20);
    for (const [limit, draw, settings] of [
      [pColumns, binomialSampler(60, 0.2), { standard: 0.2, falseAlarmProbability: 0.005 }],
      [uColumns, poissonSampler(12), { standard: 0.2, falseAlarmProbability: 0.005 }],
    ] as const) {
      const counts = Float64Array.from({ length: n }, () => draw(source.uniform()));
      const sizes = new Float64Array(n).fill(60);
      const stated = (limit === pColumns ? pPoint : uPoint)({ count: 0, size: 60 }, settings).limits!
        .falseAlarmProbability!;
      const { beyondLimits } = limit(counts, sizes, settings);
      near(rate(beyondLimits, 1), stated.upper, n);
      near(rate(beyondLimits, 2), stated.lower, n);
      expect(stated.upper).toBeLessThanOrEqual(0.005);
      expect(stated.lower).toBeLessThanOrEqual(0.005);
    }
  });

  test('three standard deviations are no 0.27 % for rare events; exact limits repair it', () => {
    // 310 hoops, 0.3 % leaks: the plain upper limit lies at 3.8 leaks.
    const plain = pPoint({ count: 0, size: 310 }, { standard: 0.003 }).limits!;
    expect(plain.lowerControlLimit).toBeNull();
    expect(plain.upperControlLimit! * 310).toBeCloseTo(3.8188, 3);
    const n = 100_000;
    const source = randomSource(3);
    const draw = binomialSampler(310, 0.003);
    const counts = Float64Array.from({ length: n }, () => draw(source.uniform()));
    const sizes = new Float64Array(n).fill(310);
    const found = rate(pColumns(counts, sizes, { standard: 0.003 }).beyondLimits, 1);
    near(found, 0.014829, n);
    near(
      rate(pColumns(counts, sizes, { standard: 0.003, falseAlarmProbability: 0.00135 }).beyondLimits, 1),
      0.00039391,
      n,
    );
  });

  test("p' and u' limits keep 0.27 % where the level itself moves, plain limits call half the samples", () => {
    const source = randomSource(5);
    const n = 20_000;
    for (const [limits, plain] of [
      [pPrimeColumns, pColumns],
      [uPrimeColumns, uColumns],
    ] as const) {
      // Level 5 % with a standard deviation of 0.5 %, samples of 20 000: standardised values spread 3.4 times too far.
      const counts = Float64Array.from({ length: n }, () =>
        Math.round(20_000 * (0.05 + 0.005 * source.normal()) + Math.sqrt(950) * source.normal()),
      );
      const sizes = new Float64Array(n).fill(20_000);
      const data = Array.from(counts, (count) => ({ count, size: 20_000 }));
      const estimate = available((limits === pPrimeColumns ? pPrimeChart : uPrimeChart)(data)).basis;
      expect(estimate.standard).toBeCloseTo(0.05, 3);
      const { beyondLimits } = limits(counts, sizes, estimate);
      near(rate(beyondLimits, 1) + rate(beyondLimits, 2), 0.0027, n);
      expect(rate(plain(counts, sizes, estimate).beyondLimits, 1)).toBeGreaterThan(0.15);
    }
  });
});
