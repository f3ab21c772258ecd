import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type CusumSettings,
  cusumChart,
  cusumColumns,
  cusumNext,
  cusumStart,
  type EwmaOptions,
  ewmaChart,
  ewmaColumns,
  ewmaNext,
  ewmaStart,
  type MovingAverageOptions,
  movingAverageChart,
  movingAverageColumns,
  movingAverageNext,
  movingAverageStart,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { reading } from '../generators.ts';

const series = fc.array(reading, { maxLength: 40 });
const gappy = fc.array(fc.option(reading, { freq: 5 }), { maxLength: 40 });
const base = { target: 10, withinSubgroupStandardDeviation: 0.3 };

const ewmaOptions: fc.Arbitrary<EwmaOptions> = fc.record({
  target: fc.constant(10),
  withinSubgroupStandardDeviation: fc.constantFrom(0.1, 0.4),
  smoothing: fc.constantFrom(0.05, 0.2, 0.7, 1),
  multiple: fc.constantFrom(1, 3),
  limits: fc.constantFrom('time-varying' as const, 'asymptotic' as const),
  start: fc.constantFrom(9.8, 10),
  size: fc.constantFrom(1, 4),
});
const cusumOptions: fc.Arbitrary<CusumSettings> = fc.record({
  target: fc.constant(10),
  withinSubgroupStandardDeviation: fc.constantFrom(0.1, 0.4),
  referenceValue: fc.constantFrom(0, 0.5, 1),
  decisionInterval: fc.constantFrom(1, 4),
  headStart: fc.constantFrom(0, 0.5, 1),
  sides: fc.constantFrom('both' as const, 'upper' as const, 'lower' as const),
  size: fc.constantFrom(1, 4),
});
const movingOptions: fc.Arbitrary<MovingAverageOptions> = fc.record({
  target: fc.constant(10),
  withinSubgroupStandardDeviation: fc.constantFrom(0.1, 0.4),
  span: fc.constantFrom(1, 2, 5, 40),
  multiple: fc.constantFrom(1, 3),
  size: fc.constantFrom(1, 4),
});
const withSizes = <T extends object>(options: T, length: number, varying: boolean) =>
  varying ? { ...options, sizes: Array.from({ length }, (_, place) => 1 + ((place * 7) % 5)) } : options;

const side = (point: {
  beyondLimits: boolean;
  value: number | null;
  limits: { centerLine: number } | null;
}) => (point.beyondLimits ? (point.value! > point.limits!.centerLine ? 1 : 2) : 0);

describe('EWMA chart', () => {
  it('is the same point by point, live, and in columns', () => {
    fc.assert(
      fc.property(series, ewmaOptions, fc.boolean(), (values, settings, varying) => {
        const options = withSizes(settings, values.length, varying) as EwmaOptions;
        const chart = ewmaChart(values, options);
        let state = ewmaStart(settings);
        const live = values.map((value, index) => {
          const size = options.sizes?.[index] ?? settings.size!;
          const next = ewmaNext(state, value, { ...settings, size });
          state = next.state;
          return next.point;
        });
        expect(live).toEqual(chart.points);
        const columns = ewmaColumns(Float64Array.from(values), options);
        expect([...columns.values]).toEqual(chart.points.map(({ value }) => value));
        expect([...columns.lowerControlLimits]).toEqual(
          chart.points.map(({ limits }) => limits!.lowerControlLimit),
        );
        expect([...columns.upperControlLimits]).toEqual(
          chart.points.map(({ limits }) => limits!.upperControlLimit),
        );
        expect([...columns.beyondLimits]).toEqual(chart.points.map(side));
        expect(chart.signals).toEqual(chart.points.filter((p) => p.beyondLimits).map(({ index }) => index));
      }),
    );
  });

  it('moves with the unit and the level of the values', () => {
    fc.assert(
      fc.property(gappy, ewmaOptions, (values, options) => {
        const chart = ewmaChart(values, options);
        const inMicrometres = ewmaChart(
          values.map((value) => (value === null ? null : 1000 * value + 7)),
          {
            ...options,
            target: 1000 * options.target + 7,
            withinSubgroupStandardDeviation: 1000 * options.withinSubgroupStandardDeviation,
            start: 1000 * options.start! + 7,
          },
        );
        chart.points.forEach((point, index) => {
          const other = inMicrometres.points[index]!;
          expect(other.value!).toBeCloseTo(1000 * point.value! + 7, 8);
          expect(other.limits!.upperControlLimit!).toBeCloseTo(
            1000 * point.limits!.upperControlLimit! + 7,
            8,
          );
        });
      }),
    );
  });

  it('mirrors: values turned about the target turn points and limits', () => {
    fc.assert(
      fc.property(gappy, ewmaOptions, (values, options) => {
        const turn = (value: number) => 20 - value;
        const chart = ewmaChart(values, options);
        const turned = ewmaChart(
          values.map((value) => (value === null ? null : turn(value))),
          { ...options, start: turn(options.start!) },
        );
        chart.points.forEach((point, index) => {
          const other = turned.points[index]!;
          expect(other.value!).toBeCloseTo(turn(point.value!), 10);
          expect(other.limits!.lowerControlLimit!).toBeCloseTo(turn(point.limits!.upperControlLimit!), 10);
        });
      }),
    );
  });

  it('with smoothing 1 is a chart of the values themselves', () => {
    const chart = ewmaChart([10, 10.91, 9.1], { ...base, smoothing: 1 });
    expect(chart.points.map(({ value }) => value)).toEqual([10, 10.91, 9.1]);
    expect(chart.points[0]!.limits).toEqual({
      centerLine: 10,
      lowerControlLimit: 10 - 3 * 0.3,
      upperControlLimit: 10 + 3 * 0.3,
    });
    expect(chart.signals).toEqual([1]);
  });

  it('uses smoothing 0.2, three standard deviations and exact limits unless told otherwise', () => {
    const { basis, points } = ewmaChart([11, 11], base);
    expect(basis).toEqual({
      ...base,
      smoothing: 0.2,
      multiple: 3,
      limits: 'time-varying',
      start: 10,
    });
    expect(points[0]!.value).toBeCloseTo(10.2, 12);
    // Montgomery, eq. 9.25: σ λ on the first sample, then σ √(λ/(2 − λ) (1 − (1 − λ)⁴)).
    expect(points[0]!.limits!.upperControlLimit).toBeCloseTo(10 + 3 * 0.3 * 0.2, 12);
    expect(points[1]!.limits!.upperControlLimit).toBeCloseTo(
      10 + 3 * 0.3 * Math.sqrt((1 - 0.8 ** 4) / 9),
      12,
    );
    expect(points.map(({ size }) => size)).toEqual([1, 1]);
  });

  it('a value exactly on the limit is inside', () => {
    const settings = { target: 0, withinSubgroupStandardDeviation: 1, smoothing: 0.5, multiple: 2 };
    expect(ewmaChart([2], settings).signals).toEqual([]);
    expect(ewmaChart([-2.0001], settings).signals).toEqual([0]);
    expect([...ewmaColumns(Float64Array.of(2), settings).beyondLimits]).toEqual([0]);
  });

  it('a missing value repeats average and limits and never signals', () => {
    const { points, signals } = ewmaChart([null, 14, null], base);
    expect(points[0]).toEqual({
      index: 0,
      value: 10,
      size: 0,
      limits: { centerLine: 10, lowerControlLimit: 10, upperControlLimit: 10 },
      beyondLimits: false,
    });
    expect(points[2]).toEqual({ ...points[1], index: 2, size: 0, beyondLimits: false });
    expect(signals).toEqual([1]);
  });

  it('fills the columns passed in', () => {
    const values = Float64Array.of(10, 11);
    const columns = ewmaColumns(values, base);
    columns.values.fill(0);
    expect(ewmaColumns(values, base, columns)).toBe(columns);
    expect(columns.values[1]).toBeCloseTo(10.2, 12);
  });

  it.each([
    [{ smoothing: 0 }, 'out-of-range', 'options.smoothing'],
    [{ smoothing: 1.1 }, 'out-of-range', 'options.smoothing'],
    [{ multiple: 0 }, 'out-of-range', 'options.multiple'],
    [{ multiple: 1001 }, 'out-of-range', 'options.multiple'],
    [{ target: Number.NaN }, 'not-finite', 'options.target'],
    [{ target: 1e291 }, 'out-of-range', 'options.target'],
    [{ withinSubgroupStandardDeviation: 0 }, 'out-of-range', 'options.withinSubgroupStandardDeviation'],
    [{ withinSubgroupStandardDeviation: 1e291 }, 'out-of-range', 'options.withinSubgroupStandardDeviation'],
    [{ start: Infinity }, 'not-finite', 'options.start'],
    [{ size: 0 }, 'out-of-range', 'options.size'],
    [{ size: 1.5 }, 'not-an-integer', 'options.size'],
    [{ sizes: [1] }, 'sizes-differ', 'options.sizes'],
    [{ sizes: [1, 0] }, 'out-of-range', 'options.sizes.1'],
    [{ limits: 'none' as 'asymptotic' }, 'unknown-name', 'options.limits'],
  ])('refuses %o', (wrong, code, argument) => {
    const options = { ...base, ...wrong };
    const error = expect.objectContaining({ code, argument });
    expect(() => ewmaChart([1, 2], options)).toThrow(error);
    expect(() => ewmaColumns(Float64Array.of(1, 2), options)).toThrow(error);
  });

  it('names a value that cannot be charted', () => {
    const error = expect.objectContaining({ code: 'out-of-range', argument: 'values.1' });
    expect(() => ewmaChart([1, -2e290], base)).toThrow(error);
    expect(() => ewmaColumns(Float64Array.of(1, -2e290), base)).toThrow(error);
    expect(() => ewmaColumns(Float64Array.of(1, Number.NaN), base)).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'values.1' }),
    );
    expect(() => ewmaColumns(Float64Array.of(1, 2), base, ewmaColumns(Float64Array.of(1), base))).toThrow(
      expect.objectContaining({ code: 'sizes-differ', argument: 'columns.values' }),
    );
    expect(() => ewmaNext({ index: 0, value: 10, varianceRatio: 2 }, 10, base)).toThrow(
      expect.objectContaining({ argument: 'state.varianceRatio' }),
    );
  });
});

describe('CUSUM chart', () => {
  it('is the same point by point, live, and in columns', () => {
    fc.assert(
      fc.property(series, cusumOptions, (values, options) => {
        const chart = cusumChart(values, options);
        let state = cusumStart(options);
        const live = values.map((value) => {
          const next = cusumNext(state, value, options);
          state = next.state;
          return next.point;
        });
        expect(live.map(({ upper }) => upper)).toEqual(chart.upper?.points ?? values.map(() => null));
        expect(live.map(({ lower }) => lower)).toEqual(chart.lower?.points ?? values.map(() => null));
        if (chart.upper) expect(live.map(({ upperCounter }) => upperCounter)).toEqual(chart.upper.counters);
        if (chart.lower) expect(live.map(({ lowerCounter }) => lowerCounter)).toEqual(chart.lower.counters);
        const columns = cusumColumns(Float64Array.from(values), options);
        if (chart.upper) expect([...columns.upper]).toEqual(chart.upper.points.map(({ value }) => value));
        if (chart.lower) expect([...columns.lower]).toEqual(chart.lower.points.map(({ value }) => value));
        expect([...columns.beyondLimits]).toEqual(
          live.map(({ change }) => (change === null ? 0 : change.side === 'upper' ? 1 : 2)),
        );
        expect(chart.signals).toEqual(live.flatMap(({ change }, index) => (change ? [index] : [])));
      }),
    );
  });

  it('mirrors: values turned about the target swap the sides', () => {
    fc.assert(
      fc.property(gappy, cusumOptions, (values, options) => {
        const both = { ...options, sides: 'both' as const, target: 0 };
        const about = values.map((value) => (value === null ? null : value - 10));
        const chart = cusumChart(about, both);
        const turned = cusumChart(
          about.map((value) => (value === null ? null : 0 - value)),
          both,
        );
        expect(turned.upper!.points.map(({ value }) => value)).toEqual(
          chart.lower!.points.map(({ value }) => 0 - value!),
        );
        expect(turned.upper!.counters).toEqual(chart.lower!.counters);
        expect(turned.lower!.signals).toEqual(chart.upper!.signals);
      }),
    );
  });

  it('plots the lower sum below zero, with a limit on that side only', () => {
    const { upper, lower, basis } = cusumChart([8.5, 11], { ...base, withinSubgroupStandardDeviation: 1 });
    expect(basis).toEqual({
      target: 10,
      withinSubgroupStandardDeviation: 1,
      size: 1,
      sides: 'both',
      referenceValue: 0.5,
      decisionInterval: 5,
      headStart: 0,
    });
    expect(lower!.points.map(({ value }) => value)).toEqual([-1, 0]);
    expect(lower!.points[0]!.limits).toEqual({
      centerLine: 0,
      lowerControlLimit: -5,
      upperControlLimit: null,
    });
    expect(upper!.points[0]!.limits).toEqual({
      centerLine: 0,
      lowerControlLimit: null,
      upperControlLimit: 5,
    });
    expect(upper!.statistic).toBe('upper cumulative sum');
    expect(lower!.statistic).toBe('lower cumulative sum');
    expect(Object.is(lower!.points[1]!.value, 0)).toBe(true);
  });

  it('says since when and where the mean is now, on either side', () => {
    const settings = { target: 10, withinSubgroupStandardDeviation: 1, decisionInterval: 2 };
    // C⁺: 0, 1.5, 3; the last two samples were 12 on average. 10 + 0.5 + 3/2.
    expect(cusumChart([10, 12, 12, 12], settings).firstSignal).toEqual({
      index: 2,
      side: 'upper',
      estimatedMean: 12,
      firstSample: 1,
    });
    expect(cusumChart([10, 8, null, 8], settings).firstSignal).toEqual({
      index: 3,
      side: 'lower',
      estimatedMean: 8,
      firstSample: 1,
    });
    expect(cusumChart([10], settings).firstSignal).toBeNull();
  });

  it('with a head start signals sooner, and counts from the first sample', () => {
    const settings = { target: 0, withinSubgroupStandardDeviation: 1, decisionInterval: 4, headStart: 0.5 };
    const { upper, firstSignal } = cusumChart([1.5, 2], settings);
    expect(upper!.points.map(({ value }) => value)).toEqual([3, 4.5]);
    expect(upper!.counters).toEqual([1, 2]);
    expect(firstSignal!.firstSample).toBe(0);
  });

  it('a sum exactly on the limit is inside; one side alone does not see the other', () => {
    const settings = { target: 0, withinSubgroupStandardDeviation: 1, decisionInterval: 2 };
    expect(cusumChart([2.5], settings).signals).toEqual([]);
    expect(cusumChart([2.6], settings).signals).toEqual([0]);
    expect(cusumChart([2.6], { ...settings, sides: 'lower' })).toMatchObject({ upper: null, signals: [] });
    expect(cusumChart([-2.6], { ...settings, sides: 'upper' })).toMatchObject({ lower: null, signals: [] });
    expect(cusumChart([-2.6], { ...settings, sides: 'lower' }).signals).toEqual([0]);
    expect([...cusumColumns(Float64Array.of(2.5, 0.6, -9), settings).beyondLimits]).toEqual([0, 1, 2]);
  });

  it('a missing value repeats sums and counters and never signals', () => {
    const { upper, signals } = cusumChart([13, null, 13], {
      target: 10,
      withinSubgroupStandardDeviation: 1,
      decisionInterval: 2,
    });
    expect(upper!.points.map(({ value, size, beyondLimits }) => [value, size, beyondLimits])).toEqual([
      [2.5, 1, true],
      [2.5, 0, false],
      [5, 1, true],
    ]);
    expect(upper!.counters).toEqual([1, 1, 2]);
    expect(signals).toEqual([0, 2]);
  });

  it.each([
    [{ referenceValue: -0.1 }, 'out-of-range', 'options.referenceValue'],
    [{ referenceValue: 10.1 }, 'out-of-range', 'options.referenceValue'],
    [{ decisionInterval: 0 }, 'out-of-range', 'options.decisionInterval'],
    [{ decisionInterval: 1001 }, 'out-of-range', 'options.decisionInterval'],
    [{ headStart: 1.1 }, 'out-of-range', 'options.headStart'],
    [{ sides: 'left' as 'upper' }, 'unknown-name', 'options.sides'],
  ])('refuses %o', (wrong, code, argument) => {
    expect(() => cusumChart([1], { ...base, ...wrong })).toThrow(expect.objectContaining({ code, argument }));
  });

  it('names what is wrong with values, columns and state', () => {
    expect(() => cusumChart([1, Number.NaN], base)).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'values.1' }),
    );
    const short = cusumColumns(Float64Array.of(1), base);
    expect(() => cusumColumns(Float64Array.of(1, 2), base, short)).toThrow(
      expect.objectContaining({ code: 'sizes-differ', argument: 'columns.upper' }),
    );
    const sum = { value: 0, counter: 0, since: 0 };
    const state = { index: 3, upper: sum, lower: { ...sum, counter: 4 } };
    expect(() => cusumNext(state, 1, base)).toThrow(
      expect.objectContaining({ argument: 'state.lower.counter' }),
    );
    const full = { index: 3, upper: { ...sum, value: Number.MAX_VALUE }, lower: sum };
    expect(() => cusumNext({ ...full, upper: { ...sum, value: -1 } }, 1, base)).toThrow(
      expect.objectContaining({ argument: 'state.upper.value' }),
    );
    expect(cusumNext(full, 1e290, base).point.upper!.beyondLimits).toBe(true);
  });
});

describe('moving average chart', () => {
  it('is the same point by point, live, and in columns', () => {
    fc.assert(
      fc.property(series, movingOptions, fc.boolean(), (values, settings, varying) => {
        const options = withSizes(settings, values.length, varying) as MovingAverageOptions;
        const chart = movingAverageChart(values, options);
        let state = movingAverageStart();
        const live = values.map((value, index) => {
          const size = options.sizes?.[index] ?? settings.size!;
          const next = movingAverageNext(state, value, { ...settings, size });
          state = next.state;
          return next.point;
        });
        expect(live).toEqual(chart.points);
        const columns = movingAverageColumns(Float64Array.from(values), options);
        chart.points.forEach(({ value, limits }, index) => {
          // Sums in another order: to rounding.
          expect(columns.values[index]).toBeCloseTo(value!, 11);
          expect(columns.lowerControlLimits[index]).toBeCloseTo(limits!.lowerControlLimit!, 11);
          expect(columns.upperControlLimits[index]).toBeCloseTo(limits!.upperControlLimit!, 11);
          const distance = Math.min(
            Math.abs(value! - limits!.lowerControlLimit!),
            Math.abs(value! - limits!.upperControlLimit!),
          );
          if (distance > 1e-9) expect(columns.beyondLimits[index]).toBe(side(chart.points[index]!));
        });
      }),
    );
  });

  it('averages what there is while it fills up, with limits that follow', () => {
    const { points, basis } = movingAverageChart([11, 12, 13, 14], {
      target: 10,
      withinSubgroupStandardDeviation: 1,
      span: 2,
    });
    expect(basis).toEqual({ target: 10, withinSubgroupStandardDeviation: 1, span: 2, multiple: 3 });
    expect(points.map(({ value }) => value)).toEqual([11, 11.5, 12.5, 13.5]);
    // Montgomery, section 9.3: 3σ/√t.
    expect(points.map(({ limits }) => limits!.upperControlLimit)).toEqual([
      13,
      10 + (3 * Math.SQRT2) / 2,
      10 + (3 * Math.SQRT2) / 2,
      10 + (3 * Math.SQRT2) / 2,
    ]);
  });

  it('weighs sizes by the variance each brings', () => {
    const options = { target: 0, withinSubgroupStandardDeviation: 2, sizes: [1, 4], multiple: 1 };
    const { points } = movingAverageChart([0, 0], options);
    // √(4/1 + 4/4) / 2
    expect(points[1]!.limits!.upperControlLimit).toBeCloseTo(Math.sqrt(5) / 2, 12);
    expect(points[1]!.size).toBe(4);
  });

  it('has no average before the first value, and repeats it over a missing one', () => {
    const { points } = movingAverageChart([null, 19, null], base);
    expect(points[0]).toEqual({ index: 0, value: null, size: 0, limits: null, beyondLimits: false });
    expect(points[1]!.beyondLimits).toBe(true);
    expect(points[2]).toEqual({ ...points[1], index: 2, size: 0, beyondLimits: false });
  });

  it('keeps its digits after a huge value has left the window', () => {
    const columns = movingAverageColumns(Float64Array.of(1e17, 1, 2, 3, 4), {
      target: 0,
      withinSubgroupStandardDeviation: 1,
      span: 2,
    });
    expect([...columns.values].slice(2)).toEqual([1.5, 2.5, 3.5]);
    expect([...columns.beyondLimits]).toEqual([1, 1, 0, 1, 1]);
  });

  it.each([
    [{ span: 0 }, 'out-of-range', 'options.span'],
    [{ span: 1001 }, 'out-of-range', 'options.span'],
    [{ span: 2.5 }, 'not-an-integer', 'options.span'],
    [{ multiple: -1 }, 'out-of-range', 'options.multiple'],
    [{ sizes: [1] }, 'sizes-differ', 'options.sizes'],
    [{ sizes: [1, 1e7] }, 'out-of-range', 'options.sizes.1'],
  ])('refuses %o', (wrong, code, argument) => {
    const error = expect.objectContaining({ code, argument });
    expect(() => movingAverageChart([1, 2], { ...base, ...wrong })).toThrow(error);
    expect(() => movingAverageColumns(Float64Array.of(1, 2), { ...base, ...wrong })).toThrow(error);
  });

  it('refuses a state of another span', () => {
    const state = { index: 3, values: [1, 2, 3], sizes: [1, 1, 1] };
    expect(() => movingAverageNext(state, 4, { ...base, span: 2 })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'state.values' }),
    );
    expect(() => movingAverageNext({ ...state, values: [1, Number.NaN, 3] }, 4, base)).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'state.values.1' }),
    );
    expect(() => movingAverageNext({ ...state, sizes: [1, 1, 0] }, 4, base)).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'state.sizes.2' }),
    );
    expect(() => movingAverageNext({ ...state, sizes: [1] }, 4, base)).toThrow(
      expect.objectContaining({ code: 'sizes-differ', argument: 'state.sizes' }),
    );
  });
});

describe('the share of false alarms, simulated', () => {
  const count = 100_000;
  const { normal } = randomSource(20_31);
  const values = Float64Array.from({ length: count }, normal);
  const process = { target: 0, withinSubgroupStandardDeviation: 1 };
  // Averages of w values follow each other with correlation, which widens the count's spread by less than √(2w).
  const allowed = (share: number, memory: number) => 4 * Math.sqrt((2 * memory * share) / count);

  it('of settled EWMA limits is that of the normal distribution', () => {
    const { beyondLimits } = ewmaColumns(values, { ...process, smoothing: 0.25, multiple: 2 });
    const share = beyondLimits.filter((beyond) => beyond > 0).length / count;
    expect(Math.abs(share - 0.0455)).toBeLessThan(allowed(0.0455, 7));
  });

  it('of moving average limits as well', () => {
    const { beyondLimits } = movingAverageColumns(values, { ...process, span: 4, multiple: 2 });
    const share = beyondLimits.filter((beyond) => beyond > 0).length / count;
    expect(Math.abs(share - 0.0455)).toBeLessThan(allowed(0.0455, 4));
  });
});

it('settled EWMA limits stand from the first point on, also where that one is missing', () => {
  const settings = {
    target: 10,
    withinSubgroupStandardDeviation: 1,
    smoothing: 0.2,
    limits: 'asymptotic',
  } as const;
  const { points } = ewmaChart([null, null, 10.4], settings);
  // 3 √(0.2/1.8) = 1: Montgomery, Introduction to Statistical Quality Control, eq. 9.26 and 9.27.
  for (const { limits } of points) {
    expect(limits!.lowerControlLimit).toBeCloseTo(9, 12);
    expect(limits!.upperControlLimit).toBeCloseTo(11, 12);
  }
  const first = ewmaNext(ewmaStart(settings), null, settings);
  expect(first.point.limits!.upperControlLimit).toBeCloseTo(11, 12);
});
