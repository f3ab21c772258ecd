/** Exact-probability limits, and the charts of parts and of time between events. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  binomialProbabilityLimits,
  gChart,
  gColumns,
  geometricProbabilityLimits,
  gPoint,
  poissonProbabilityLimits,
  tChart,
  tColumns,
  tPoint,
  tPowerChart,
  tPowerColumns,
  tPowerPoint,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { available, refusal } from './count-samplers.ts';

describe('exact-probability limits (scipy 1.17: binom, poisson, geom; counts by search over sf and cdf)', () => {
  // [n, p, allowed, lower (0: none), upper (n: none), P below, P above]
  test.each([
    [310, 0.003, 0.00135, 0, 5, 0, 0.0003939140017346164],
    [200, 0.03, 0.00135, 0, 14, 0, 0.001147095306697442],
    [50, 0.3, 0.005, 7, 24, 0.0024937220856687207, 0.002369547848982257],
    [1000, 0.5, 0.0001, 441, 559, 8.252493527522643e-5, 8.252493527522643e-5],
    [20, 0.9, 0.01, 14, 20, 0.0023860894089661137, 0],
    [5, 0.5, 0.1, 1, 4, 0.03125, 0.03125],
  ])('binomial %f, %f at %f', (size, proportion, falseAlarmProbability, lower, upper, below, above) => {
    const limits = binomialProbabilityLimits({ size, proportion, falseAlarmProbability });
    expect(limits.centerLine).toBe(size * proportion);
    expect(limits.lowerControlLimit).toBe(lower === 0 ? null : lower);
    expect(limits.upperControlLimit).toBe(upper === size ? null : upper);
    // The library's own tails agree with ours to 1e-11.
    expect(limits.falseAlarmProbability.lower).toBeCloseTo(below, 13);
    expect(limits.falseAlarmProbability.upper).toBeCloseTo(above, 13);
  });

  test.each([
    [2, 0.00135, 0, 7, 0, 0.0010967189678587025],
    [0.1, 0.00135, 0, 2, 0, 0.00015465307026467172],
    [25, 0.00135, 11, 41, 0.0005864616297530789, 0.0011770813246133294],
    [400, 0.001, 340, 463, 0.0009743387871198877, 0.0009538528496879423],
    [7.5, 0.025, 3, 13, 0.020256715056664387, 0.02156465103801667],
  ])('Poisson %f at %f', (mean, falseAlarmProbability, lower, upper, below, above) => {
    const limits = poissonProbabilityLimits({ mean, falseAlarmProbability });
    expect(limits).toMatchObject({
      centerLine: mean,
      lowerControlLimit: lower === 0 ? null : lower,
      upperControlLimit: upper,
    });
    expect(limits.falseAlarmProbability.lower).toBeCloseTo(below, 13);
    expect(limits.falseAlarmProbability.upper).toBeCloseTo(above, 13);
  });

  test.each([
    [999, 0.00135, 1, 692, 6604, 0.001, 0.001349117365997145],
    [49, 0.00135, 0, 34, 327, 0, 0.0013248076496648901],
    [10, 0.01, 0, 7, 48, 0, 0.009370406407450705],
    [0.5, 0.01, 0, 0, 4, 0, 0.004115226337448564],
    [20000, 0.00135, 27, 13863, 132156, 0.0013490554565787716, 0.001349953935107811],
  ])('geometric %f at %f', (mean, falseAlarmProbability, lower, median, upper, below, above) => {
    const limits = geometricProbabilityLimits({ mean, falseAlarmProbability });
    expect(limits).toMatchObject({
      centerLine: median,
      lowerControlLimit: lower === 0 ? null : lower,
      upperControlLimit: upper,
    });
    expect(limits.falseAlarmProbability.lower).toBeCloseTo(below, 12);
    expect(limits.falseAlarmProbability.upper).toBeCloseTo(above, 12);
  });

  test('the default is 0.135 % on each side', () => {
    expect(binomialProbabilityLimits({ size: 310, proportion: 0.003 })).toEqual(
      binomialProbabilityLimits({ size: 310, proportion: 0.003, falseAlarmProbability: 0.00135 }),
    );
    expect(poissonProbabilityLimits({ mean: 25 }).lowerControlLimit).toBe(11);
    expect(geometricProbabilityLimits({ mean: 20000 }).lowerControlLimit).toBe(27);
  });

  test('good parts in place of bad ones: the limits are mirrored', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 300 }),
        fc.double({ min: 0.01, max: 0.5, noNaN: true }),
        // No round figures: a tail that is exactly the probability asked for would hang on the rounding of 1 − p.
        fc.constantFrom(0.2017, 0.01013, 0.000107),
        (size, proportion, falseAlarmProbability) => {
          const bad = binomialProbabilityLimits({ size, proportion, falseAlarmProbability });
          const good = binomialProbabilityLimits({ size, proportion: 1 - proportion, falseAlarmProbability });
          expect(size - (good.upperControlLimit ?? size)).toBe(bad.lowerControlLimit ?? 0);
          expect(size - (good.lowerControlLimit ?? 0)).toBe(bad.upperControlLimit ?? size);
          expect(good.falseAlarmProbability.upper).toBeCloseTo(bad.falseAlarmProbability.lower, 12);
        },
      ),
    );
  });

  test('a count that cannot vary has its limits on itself, where they can signal', () => {
    expect(poissonProbabilityLimits({ mean: 0 })).toEqual({
      centerLine: 0,
      lowerControlLimit: null,
      upperControlLimit: 0,
      falseAlarmProbability: { lower: 0, upper: 0 },
    });
    expect(geometricProbabilityLimits({ mean: 0 })).toMatchObject({
      lowerControlLimit: null,
      upperControlLimit: 0,
    });
    expect(binomialProbabilityLimits({ size: 9, proportion: 1 })).toMatchObject({
      centerLine: 9,
      lowerControlLimit: 9,
      upperControlLimit: null,
    });
  });

  test('wrong arguments are named', () => {
    expect(refusal(() => binomialProbabilityLimits({ size: 1.5, proportion: 0.1 }))).toBe(
      'not-an-integer options.size',
    );
    expect(refusal(() => binomialProbabilityLimits({ size: 1e8 + 1, proportion: 0.1 }))).toBe(
      'out-of-range options.size',
    );
    expect(refusal(() => binomialProbabilityLimits({ size: 5, proportion: 1.1 }))).toBe(
      'out-of-range options.proportion',
    );
    const rare = { falseAlarmProbability: 1e-13 };
    expect(refusal(() => binomialProbabilityLimits({ size: 5, proportion: 0.1, ...rare }))).toBe(
      'out-of-range options.falseAlarmProbability',
    );
    expect(refusal(() => poissonProbabilityLimits({ mean: -1 }))).toBe('out-of-range options.mean');
    expect(refusal(() => poissonProbabilityLimits({ mean: 1, ...rare }))).toBe(
      'out-of-range options.falseAlarmProbability',
    );
    expect(refusal(() => geometricProbabilityLimits({ mean: 2e12 }))).toBe('out-of-range options.mean');
    expect(refusal(() => geometricProbabilityLimits({ mean: 1, ...rare }))).toBe(
      'out-of-range options.falseAlarmProbability',
    );
  });

  test('large and small means keep their digits', () => {
    const large = geometricProbabilityLimits({ mean: 1e12 });
    // Exponential limit of the geometric distribution: −m ln α and −m ln(1 − α).
    expect(large.upperControlLimit! / 1e12).toBeCloseTo(-Math.log(0.00135), 9);
    expect(large.lowerControlLimit! / 1e12).toBeCloseTo(-Math.log1p(-0.00135), 9);
    expect(geometricProbabilityLimits({ mean: 1e-5 })).toMatchObject({ upperControlLimit: 0, centerLine: 0 });
    expect(geometricProbabilityLimits({ mean: 1e-5 }).falseAlarmProbability.upper).toBeCloseTo(1e-5, 9);
    expect(poissonProbabilityLimits({ mean: 1e8 }).upperControlLimit! - 1e8).toBeGreaterThan(2.99e4);
  });
});

describe('g chart', () => {
  const gaps = [820, 1310, 95, null, 0, 402, 9000];

  test('low is the bad side, and the estimate is the mean of the gaps', () => {
    const chart = available(gChart(gaps, { standard: 999 }));
    expect(chart.signals).toEqual([4, 6]);
    expect(chart.statistic).toBe('parts between events');
    expect(chart.basis).toEqual({ standard: 999, origin: 'given', gaps: 6 });
    expect(chart.points[3]).toEqual({ index: 3, value: null, size: 0, limits: null, beyondLimits: false });
    expect(available(gChart([10, null, 20])).basis).toEqual({ standard: 15, origin: 'estimated', gaps: 2 });
  });

  test('limits of the standard deviation: mean ± k √(mean (mean + 1))', () => {
    expect(gPoint(5, { standard: 8, limits: 'standard-deviation' }).limits).toEqual({
      centerLine: 8,
      lowerControlLimit: null,
      upperControlLimit: 8 + 3 * Math.sqrt(72),
      standardDeviation: Math.sqrt(72),
      falseAlarmProbability: null,
    });
    expect(gPoint(5, { standard: 8, limits: 'standard-deviation', multiple: 0.5 }).limits).toMatchObject({
      lowerControlLimit: 8 - 0.5 * Math.sqrt(72),
      upperControlLimit: 8 + 0.5 * Math.sqrt(72),
    });
  });

  test('chart, live and column give the same points', () => {
    fc.assert(
      fc.property(
        fc.array(fc.nat({ max: 400 }), { minLength: 1, maxLength: 40 }),
        fc.constantFrom(
          { standard: 60 },
          { standard: 60, falseAlarmProbability: 0.1 },
          { standard: 60, limits: 'standard-deviation' as const, multiple: 0.5 },
        ),
        (data, settings) => {
          const chart = available(gChart(data, settings));
          const { beyondLimits } = gColumns(Float64Array.from(data), settings);
          chart.points.forEach((point, index) => {
            expect(gPoint(data[index]!, settings)).toEqual({ ...point, index: 0 });
            const side = point.value! > point.limits!.centerLine ? 1 : 2;
            expect(beyondLimits[index]).toBe(point.beyondLimits ? side : 0);
          });
        },
      ),
      { numRuns: 40 },
    );
  });

  test('refusals', () => {
    expect(refusal(() => gChart([]))).toBe('empty gaps');
    expect(refusal(() => gChart([1, -1]))).toBe('out-of-range gaps.1');
    expect(refusal(() => gChart([2e12]))).toBe('out-of-range gaps.0');
    expect(refusal(() => gChart([1], { standard: -1 }))).toBe('out-of-range options.standard');
    expect(refusal(() => gPoint(0.5, { standard: 1 }))).toBe('not-an-integer gap');
    expect(refusal(() => gPoint(1, { standard: 1, limits: 'none' as 'exact-probability' }))).toBe(
      'unknown-name settings.limits',
    );
    expect(refusal(() => gPoint(1, { standard: 1, falseAlarmProbability: 0 }))).toBe(
      'out-of-range settings.falseAlarmProbability',
    );
    expect(refusal(() => gPoint(1, { standard: 1, multiple: 0 }))).toBe('out-of-range settings.multiple');
    expect(refusal(() => gColumns(Float64Array.of(0.5), { standard: 1 }))).toBe('not-an-integer gaps.0');
    expect(gChart([null])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(refusal(() => gChart([null], { multiple: -1 }))).toBe('out-of-range options.multiple');
    expect(gPoint(null, { standard: 1 }).value).toBeNull();
  });
});

describe('t chart', () => {
  test('limits are quantiles of the exponential distribution, in any unit of time', () => {
    const hours = tPoint(1, { standard: 100, falseAlarmProbability: 0.01 }).limits!;
    expect(hours).toMatchObject({
      standardDeviation: 100,
      falseAlarmProbability: { lower: 0.01, upper: 0.01 },
    });
    expect(Math.exp(-hours.upperControlLimit! / 100)).toBeCloseTo(0.01, 14);
    expect(1 - Math.exp(-hours.lowerControlLimit! / 100)).toBeCloseTo(0.01, 14);
    expect(Math.exp(-hours.centerLine / 100)).toBeCloseTo(0.5, 14);
    const minutes = tPoint(1, { standard: 6000, falseAlarmProbability: 0.01 }).limits!;
    expect(minutes.lowerControlLimit).toBeCloseTo(60 * hours.lowerControlLimit!, 10);
  });

  test('estimates the mean, and flags short times below and long ones above', () => {
    const chart = available(tChart([100, null, 0.01, 299.99], { falseAlarmProbability: 0.05 }));
    expect(chart.basis.standard).toBeCloseTo(400 / 3, 10);
    expect(chart.basis).toMatchObject({ origin: 'estimated', times: 3 });
    expect(chart.signals).toEqual([2]);
    expect(chart.statistic).toBe('time between events');
    expect(tChart([1], { standard: 3 })).toMatchObject({ basis: { standard: 3, origin: 'given', times: 1 } });
    expect([...tColumns(Float64Array.of(100, 0.01, 999), { standard: 100 }).beyondLimits]).toEqual([0, 2, 1]);
  });

  test('chart, live and column give the same points', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 900, noNaN: true }), { minLength: 1, maxLength: 40 }),
        fc.constantFrom(0.00135, 0.1),
        (data, falseAlarmProbability) => {
          const settings = { standard: 60, falseAlarmProbability };
          const chart = available(tChart(data, settings));
          const { beyondLimits } = tColumns(Float64Array.from(data), settings);
          chart.points.forEach((point, index) => {
            expect(tPoint(data[index]!, settings)).toEqual({ ...point, index: 0 });
            expect(beyondLimits[index]).toBe(point.beyondLimits ? (point.value! > 60 ? 1 : 2) : 0);
          });
        },
      ),
      { numRuns: 40 },
    );
  });

  test('keeps its false-alarm rate on both sides (simulation, fixed seed, 4 standard errors)', () => {
    const source = randomSource(11);
    const n = 200_000;
    const times = Float64Array.from({ length: n }, () => -80 * Math.log(source.uniform()));
    const { beyondLimits } = tColumns(times, { standard: 80, falseAlarmProbability: 0.005 });
    for (const side of [1, 2]) {
      const found = beyondLimits.filter((flag) => flag === side).length / n;
      expect(Math.abs(found - 0.005)).toBeLessThan(4 * Math.sqrt(0.005 / n));
    }
  });

  test('refusals', () => {
    expect(refusal(() => tChart([]))).toBe('empty times');
    expect(refusal(() => tChart([1, -1]))).toBe('out-of-range times.1');
    expect(refusal(() => tChart([1], { standard: 0 }))).toBe('out-of-range options.standard');
    expect(refusal(() => tChart([null], { falseAlarmProbability: 1 }))).toBe(
      'out-of-range options.falseAlarmProbability',
    );
    expect(refusal(() => tPoint(-1, { standard: 1 }))).toBe('out-of-range time');
    expect(refusal(() => tPoint(1, { standard: 1e101 }))).toBe('out-of-range settings.standard');
    expect(refusal(() => tColumns(Float64Array.of(1, -2), { standard: 1 }))).toBe('out-of-range times.1');
    expect(refusal(() => tColumns(Float64Array.of(1e101), { standard: 1 }))).toBe('out-of-range times.0');
    expect(tChart([null])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(tChart([0, 0])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(tChart([0, 0], { standard: 1 })).toMatchObject({ available: true, signals: [0, 1] });
    expect(tPoint(null, { standard: 1 })).toMatchObject({ value: null, size: 0, limits: null });
  });
});

describe('t chart by the power transformation', () => {
  /** Montgomery, Introduction to Statistical Quality Control, example of time between valve failures (cited from memory). */
  const hours = [
    286, 948, 536, 124, 816, 729, 4, 143, 431, 8, 2837, 596, 81, 227, 603, 492, 1199, 1214, 2831, 96,
  ];
  const transformed = [
    4.80986, 6.70903, 5.7265, 3.81367, 6.43541, 6.23705, 1.46958, 3.96768, 5.39007, 1.78151, 9.09619, 5.89774,
    3.38833, 4.51095, 5.9169, 5.59189, 7.16124, 7.18601, 9.09083, 3.55203,
  ];

  test('transforms the published valve failures as printed', () => {
    const { basis, signals, points } = available(tPowerChart(hours));
    // Printed with the exponent 0.2777 for 1/3.6: up to 6e-4 of the value.
    for (const [index, value] of basis.transformed.entries())
      expect(Math.abs(value! / transformed[index]! - 1)).toBeLessThan(7e-4);
    // Average moving range of the printed values/d2(2).
    const average = transformed.reduce((sum, value) => sum + value, 0) / 20;
    const ranges = transformed.slice(1).map((value, index) => Math.abs(value - transformed[index]!));
    expect(basis.mean).toBeCloseTo(average, 2);
    expect(basis.standardDeviation).toBeCloseTo(
      (ranges.reduce((sum, range) => sum + range, 0) / 19 / 2) * Math.sqrt(Math.PI),
      2,
    );
    expect(signals).toEqual([]);
    expect(points[0]!.limits!.lowerControlLimit).toBeNull();
    expect(basis).toMatchObject({ origin: 'estimated', times: 20 });
  });

  test('limits are those of an individuals chart, turned back into times', () => {
    const { limits } = tPowerPoint(1, { standard: { mean: 5, standardDeviation: 1 }, multiple: 2 });
    expect(limits).toEqual({
      centerLine: 5 ** 3.6,
      lowerControlLimit: 3 ** 3.6,
      upperControlLimit: 7 ** 3.6,
    });
    expect(
      tPowerPoint(1, { standard: { mean: 3, standardDeviation: 1 } }).limits!.lowerControlLimit,
    ).toBeNull();
  });

  test('a missing time leaves no moving range across it', () => {
    const chart = available(tPowerChart([10, null, 1000, 1100]));
    const step = 1100 ** (1 / 3.6) - 1000 ** (1 / 3.6);
    expect(chart.basis.standardDeviation).toBeCloseTo((step / 2) * Math.sqrt(Math.PI), 12);
    expect(chart.basis.transformed[1]).toBeNull();
    expect(chart.basis.times).toBe(3);
  });

  test('chart, live and column give the same points', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 5000, noNaN: true }), { minLength: 1, maxLength: 40 }),
        (data) => {
          const settings = { standard: { mean: 4, standardDeviation: 0.8 } };
          const chart = available(tPowerChart(data, settings));
          const { beyondLimits } = tPowerColumns(Float64Array.from(data), settings);
          chart.points.forEach((point, index) => {
            expect(tPowerPoint(data[index]!, settings)).toEqual({ ...point, index: 0 });
            expect(beyondLimits[index]).toBe(point.beyondLimits ? (point.value! > 147 ? 1 : 2) : 0);
          });
          expect(chart.basis).toMatchObject({
            mean: 4,
            standardDeviation: 0.8,
            origin: 'given',
            times: data.length,
          });
        },
      ),
      { numRuns: 40 },
    );
  });

  test('refusals', () => {
    const standard = { mean: 4, standardDeviation: 1 };
    expect(tPowerChart([1, null, 2])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(tPowerChart([null], { standard })).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(tPowerChart([5, 5, 5])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(refusal(() => tPowerChart([1, 2], { multiple: 0 }))).toBe('out-of-range options.multiple');
    expect(refusal(() => tPowerChart([1, 2], { standard: { ...standard, mean: 0 } }))).toBe(
      'out-of-range options.standard.mean',
    );
    expect(refusal(() => tPowerPoint(1, { standard: { ...standard, standardDeviation: -1 } }))).toBe(
      'out-of-range settings.standard.standardDeviation',
    );
    expect(refusal(() => tPowerPoint(Number.NaN, { standard }))).toBe('not-finite time');
    expect(refusal(() => tPowerPoint(1, { standard, multiple: Number.NaN }))).toBe(
      'not-finite settings.multiple',
    );
    expect(refusal(() => tPowerColumns(Float64Array.of(-1), { standard }))).toBe('out-of-range times.0');
  });
});
