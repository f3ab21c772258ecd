/** Q charts: values from scipy, the three ways to the same point, part models, and their distribution by simulation. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type CountSample,
  type QColumns,
  type QPoint,
  qBinomialChart,
  qBinomialColumns,
  qBinomialNext,
  qBinomialStart,
  qMeanChart,
  qMeanColumns,
  qMeanNext,
  qMeanStart,
  qPoissonChart,
  qPoissonColumns,
  qPoissonNext,
  qPoissonStart,
  qSubgroupChart,
  qSubgroupColumns,
  qSubgroupNext,
  qSubgroupStart,
  qVarianceChart,
  qVarianceColumns,
  qVarianceNext,
  qVarianceStart,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { reading } from '../generators.ts';
import { refusal } from './count-samplers.ts';

const values = fc.array(reading, { minLength: 1, maxLength: 30 });
const known = fc.constantFrom<{ mean?: number; standardDeviation?: number }>(
  {},
  { mean: 10 },
  { standardDeviation: 0.5 },
  { mean: 10, standardDeviation: 0.5 },
);
const multiple = 1.5;

/** Columns and a chart of the same points; the column has 0 where Q does not exist. */
function expectColumns(points: readonly QPoint[], columns: QColumns, close = false) {
  points.forEach(({ value, beyondLimits }, index) => {
    if (close) expect(columns.values[index]).toBeCloseTo(value ?? 0, 9);
    else expect(columns.values[index]).toBe(value ?? 0);
    expect(columns.beyondLimits[index]).toBe(beyondLimits ? (value! > 0 ? 1 : 2) : 0);
  });
}

const zero = { centerLine: 0, lowerControlLimit: -3, upperControlLimit: 3, standardDeviation: 1 };
const plotted = (points: readonly QPoint[]) => points.map(({ value }) => value);

describe('chart, live and columns give the same points', () => {
  test('mean of single values', () => {
    fc.assert(
      fc.property(values, known, (data, given) => {
        const settings = { ...given, multiple };
        const { points } = qMeanChart(data, settings);
        let state = qMeanStart();
        for (const [index, value] of data.entries()) {
          const step = qMeanNext(state, value, settings);
          state = step.state;
          expect(step.point).toEqual(points[index]);
        }
        expectColumns(points, qMeanColumns(Float64Array.from(data), settings));
      }),
      { numRuns: 40 },
    );
  });

  test('spread of single values', () => {
    fc.assert(
      fc.property(values, fc.constantFrom({}, { standardDeviation: 0.5 }), (data, given) => {
        const settings = { ...given, multiple };
        const { points } = qVarianceChart(data, settings);
        let state = qVarianceStart();
        for (const [index, value] of data.entries()) {
          const step = qVarianceNext(state, value, settings);
          state = step.state;
          expect(step.point).toEqual(points[index]);
        }
        expectColumns(points, qVarianceColumns(Float64Array.from(data), settings));
      }),
      { numRuns: 40 },
    );
  });

  test('subgroups', () => {
    const subgroups = fc.array(fc.array(reading, { minLength: 3, maxLength: 3 }), {
      minLength: 1,
      maxLength: 12,
    });
    fc.assert(
      fc.property(subgroups, known, (data, given) => {
        const settings = { ...given, multiple };
        const charts = qSubgroupChart(data, settings);
        let state = qSubgroupStart();
        for (const [index, subgroup] of data.entries()) {
          const step = qSubgroupNext(state, subgroup, settings);
          state = step.state;
          expect(step.point).toEqual({
            location: charts.location.points[index],
            spread: charts.spread.points[index],
          });
        }
        const columns = qSubgroupColumns(Float64Array.from(data.flat()), { ...settings, subgroupSize: 3 });
        // The chart takes a root and a square on its way: the last digits differ.
        expectColumns(charts.location.points, columns.location, true);
        expectColumns(charts.spread.points, columns.spread, true);
      }),
      { numRuns: 40 },
    );
  });

  const samples: fc.Arbitrary<CountSample[]> = fc.array(
    fc.record({ count: fc.nat({ max: 4 }), size: fc.integer({ min: 4, max: 90 }) }),
    { minLength: 1, maxLength: 20 },
  );
  test.each([
    ['binomial', qBinomialChart, qBinomialStart, qBinomialNext, qBinomialColumns],
    ['Poisson', qPoissonChart, qPoissonStart, qPoissonNext, qPoissonColumns],
  ] as const)('%s counts', (_, chart, start, next, columns) => {
    fc.assert(
      fc.property(samples, fc.constantFrom({}, { standard: 0.04 }), (data, given) => {
        const settings = { ...given, multiple };
        const { points } = chart(data, settings);
        let state = start();
        for (const [index, sample] of data.entries()) {
          const step = next(state, sample, settings);
          state = step.state;
          expect(step.point).toEqual(points[index]);
        }
        const filled = columns(
          Float64Array.from(data, ({ count }) => count),
          Float64Array.from(data, ({ size }) => size),
          settings,
        );
        expectColumns(points, filled);
      }),
      { numRuns: 40 },
    );
  });
});

describe('Q of Poisson counts (scipy 1.17: norm.ppf of poisson.cdf and of binom.cdf, by the definition)', () => {
  const counts = [4, 6, 1, 0, 12, 3];
  const sizes = [2, 2, 1, 0.5, 3, 1.5];
  const samples = counts.map((count, index) => ({ count, size: sizes[index]! }));

  test('standard given', () => {
    const expected = [
      0.6562913137243526, 1.5730534544329764, -0.01693179220800423, -0.18295941407555338, 2.8218768212437375,
      0.6645677378358554,
    ];
    qPoissonChart(samples, { standard: 1.7 }).points.forEach(({ value }, index) => {
      expect(value).toBeCloseTo(expected[index]!, 9);
    });
  });

  test('standard learnt', () => {
    const expected = [
      null,
      0.9467817563010457,
      -0.4617716344258564,
      -0.38398738293979856,
      1.8763239970119159,
      -0.1547368288051245,
    ];
    const chart = qPoissonChart(samples);
    expect(chart.points[0]!.value).toBeNull();
    chart.points.slice(1).forEach(({ value }, index) => {
      expect(value).toBeCloseTo(expected[index + 1]!, 9);
    });
    expect(chart.points[1]).toMatchObject({ size: 2, limits: zero });
    expect(chart.basis).toEqual({ samplesByPart: [{ part: '', samples: 6 }] });
    expect(chart.statistic).toBe('Q statistic');
  });

  test('what was given stands in the basis', () => {
    expect(qPoissonChart(samples, { standard: 2 }).basis).toMatchObject({ standard: 2 });
    expect(qVarianceChart([1, 2, 4], { standardDeviation: 3 }).basis).toMatchObject({ standardDeviation: 3 });
    expect(qVarianceChart([1, 2, 4]).basis).not.toHaveProperty('standardDeviation');
  });

  test('the unit of size does not matter while the standard is learnt', () => {
    const scaled = samples.map(({ count, size }) => ({ count, size: size * 1024 }));
    expect(plotted(qPoissonChart(scaled).points)).toEqual(plotted(qPoissonChart(samples).points));
  });
});

describe('Q of subgroups with something known (scipy 1.17: norm.ppf of t.cdf and chi2.cdf, by the definition)', () => {
  const subgroups = [
    [10.1, 10.3, 9.8],
    [10.2, 10.0, 10.4],
    [10.9, 10.7, 10.8],
    [9.9, 10.2, 10.5],
  ];
  const expectClose = (points: readonly QPoint[], expected: readonly (number | null)[]) =>
    points.forEach(({ value }, index) => {
      if (expected[index] === null) expect(value).toBeNull();
      else expect(value).toBeCloseTo(expected[index]!, 9);
    });

  test('both', () => {
    const { location, spread, locationSignals, spreadSignals, basis } = qSubgroupChart(subgroups, {
      mean: 10.1,
      standardDeviation: 0.3,
    });
    expectClose(
      location.points,
      [-0.19245008972987457, 0.577350269189634, 4.041451884327397, 0.577350269189634],
    );
    expectClose(
      spread.points,
      [0.013161429977915362, -0.3616157100924545, -1.2526822551079528, 0.33747496376420155],
    );
    expect(locationSignals).toEqual([2]);
    expect(spreadSignals).toEqual([]);
    expect(basis).toEqual({ samplesByPart: [{ part: '', samples: 4 }], mean: 10.1, standardDeviation: 0.3 });
    expect([location.statistic, spread.statistic]).toEqual(['Q statistic', 'Q statistic']);
  });

  test('the standard deviation only', () => {
    const { location } = qSubgroupChart(subgroups, { standardDeviation: 0.3 });
    expectClose(location.points, [null, 0.5443310539518227, 3.142696805273559, -0.777777777777775]);
  });

  test('the mean only', () => {
    const { location, basis } = qSubgroupChart(subgroups, { mean: 10.1 });
    expectClose(
      location.points,
      [-0.2020574058683294, 0.6926745395074677, 3.357768106517276, 0.7315779546864457],
    );
    expect(basis).not.toHaveProperty('standardDeviation');
  });

  test('one reading, none, and a subgroup without spread', () => {
    const { location, spread } = qSubgroupChart([[10.1, 10.3], [10.2], [], [null, 10.4, 10.4], [10, 11]]);
    expect(location.points.map(({ size }) => size)).toEqual([2, 1, 0, 2, 2]);
    expect(plotted(location.points).map((value) => value === null)).toEqual([
      true,
      false,
      true,
      false,
      false,
    ]);
    expect(plotted(spread.points).map((value) => value === null)).toEqual([true, true, true, false, false]);
    // No spread at all is as improbable as can be.
    expect(spread.points[3]!.value).toBe(-40);
    expect(
      qSubgroupChart([
        [10, 10],
        [10, 10],
        [10, 11],
      ]).location.points.map(({ value }) => value === null),
    ).toEqual([true, true, false]);
  });
});

describe('properties', () => {
  test('Q values that are learnt change neither with the unit nor with the zero of the scale', () => {
    fc.assert(
      fc.property(values, (data) => {
        const moved = data.map((value) => (value - 8) * 1024);
        const first = qMeanChart(data).points;
        qMeanChart(moved).points.forEach(({ value }, index) => {
          if (value === null) expect(first[index]!.value).toBeNull();
          else
            expect(Math.abs(value - first[index]!.value!)).toBeLessThan(1e-7 * Math.max(1, Math.abs(value)));
        });
        const spread = qVarianceChart(data).points;
        qVarianceChart(moved).points.forEach(({ value }, index) => {
          if (value === null) expect(spread[index]!.value).toBeNull();
          else
            expect(Math.abs(value - spread[index]!.value!)).toBeLessThan(1e-6 * Math.max(1, Math.abs(value)));
        });
      }),
      { numRuns: 30 },
    );
  });

  test('mirrored values have mirrored Q', () => {
    fc.assert(
      fc.property(values, known, (data, { standardDeviation }) => {
        const given = standardDeviation === undefined ? {} : { standardDeviation };
        const up = plotted(qMeanChart(data, given).points);
        const down = plotted(
          qMeanChart(
            data.map((value) => -value),
            given,
          ).points,
        );
        expect(down).toEqual(up.map((value) => (value === null ? null : 0 - value)));
      }),
      { numRuns: 30 },
    );
  });

  test('each part model has a memory of its own', () => {
    const a = [10.1, 9.8, 10.4, 10.2];
    const b = [25, 25.9, 24.7, 25.1];
    const mixed = [a[0], b[0], b[1], a[1], a[2], b[2], a[3], b[3]].map((value) => value!);
    const parts = ['A', 'B', 'B', 'A', 'A', 'B', 'A', 'B'];
    for (const chart of [qMeanChart, qVarianceChart] as const) {
      const together = chart(mixed, { parts });
      const of = (name: string) => plotted(together.points.filter((_, index) => parts[index] === name));
      expect(of('A')).toEqual(plotted(chart(a).points));
      expect(of('B')).toEqual(plotted(chart(b).points));
      expect(together.parts).toEqual(parts);
      expect(together.basis.samplesByPart).toEqual([
        { part: 'A', samples: 4 },
        { part: 'B', samples: 4 },
      ]);
      expect(together.points.map(({ index }) => index)).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    }
  });

  test('a missing sample is passed over', () => {
    const data = [10.1, null, 9.9, 10.4, null, 10];
    const present = data.filter((value) => value !== null);
    expect(plotted(qMeanChart(data).points).filter((_, index) => data[index] !== null)).toEqual(
      plotted(qMeanChart(present).points),
    );
    expect(plotted(qVarianceChart(data).points).filter((_, index) => data[index] !== null)).toEqual(
      plotted(qVarianceChart(present).points),
    );
    expect(qMeanChart(data).points[1]).toEqual({
      index: 1,
      value: null,
      size: 0,
      limits: null,
      beyondLimits: false,
    });
    expect(qVarianceChart(data).points.map(({ size }) => size)).toEqual([1, 0, 2, 1, 0, 2]);
    const counts = [{ count: 1, size: 9 }, null, { count: 2, size: 9 }];
    expect(plotted(qBinomialChart(counts).points)).toEqual([
      null,
      null,
      expect.closeTo(1.2649692448841479, 9),
    ]);
    expect(qPoissonChart(counts).points[1]!.size).toBe(0);
  });

  test('a missing sample moves the place on and leaves the memory as it was', () => {
    expect(qMeanNext({ index: 3, count: 2, mean: 1, squares: 2 }, null, {}).state).toEqual({
      index: 4,
      count: 2,
      mean: 1,
      squares: 2,
    });
    expect(qVarianceNext({ index: 3, first: 5, pairs: 1, squares: 2 }, null, {}).state).toEqual({
      index: 4,
      first: 5,
      pairs: 1,
      squares: 2,
    });
    const group = { index: 3, subgroups: 2, readings: 4, mean: 1, squares: 2 };
    expect(qSubgroupNext(group, [null], {}).state).toEqual({ ...group, index: 4 });
    const counted = { index: 3, samples: 2, count: 1, size: 9 };
    expect(qBinomialNext(counted, null, {}).state).toEqual({ ...counted, index: 4 });
    expect(qPoissonNext(counted, null, {}).state).toEqual({ ...counted, index: 4 });
  });

  test('Q values of a steady process are standard normal (simulation, fixed seed)', () => {
    const source = randomSource(41);
    const series = 2000;
    const sums = new Map<string, [number, number, number]>();
    const take = (name: string, q: number) => {
      const [n, sum, squares] = sums.get(name) ?? [0, 0, 0];
      sums.set(name, [n + 1, sum + q, squares + q * q]);
    };
    for (let run = 0; run < series; run++) {
      const data = Float64Array.from({ length: 6 }, () => 50 + 4 * source.normal());
      take('mean', qMeanColumns(data, {}).values[5]!);
      take('mean, mean given', qMeanColumns(data, { mean: 50 }).values[5]!);
      take('variance', qVarianceColumns(data, {}).values[5]!);
      take('variance, given', qVarianceColumns(data, { standardDeviation: 4 }).values[5]!);
      const { location, spread } = qSubgroupColumns(data, { subgroupSize: 2 });
      take('subgroup mean', location.values[2]!);
      take('subgroup variance', spread.values[2]!);
    }
    for (const [name, [n, sum, squares]] of sums) {
      // Standard errors 1/√n of the mean, √(2/n) of the variance.
      expect(Math.abs(sum / n), name).toBeLessThan(4 / Math.sqrt(n));
      expect(Math.abs(squares / n - 1), name).toBeLessThan(4 * Math.sqrt(2 / n));
    }
  });
});

test('long series: the short way to Q from a thousand degrees of freedom on joins the exact one', () => {
  // A state as of many values with standard deviation 1, mean 0: t is the value but for the factor √(r/(r + 1)).
  const q = (count: number, value: number) =>
    qMeanNext({ index: 0, count, mean: 0, squares: count - 1 }, value, {}).point.value!;
  for (const value of [-4, 2.5, 11]) {
    // The slope between neighbours is far below 1e-6: a jump would show.
    expect(Math.abs(q(1001, value) - q(1000, value))).toBeLessThan(2e-3 * Math.abs(value / 10));
    expect(Math.abs(q(1001, value) - q(1000, value) - (q(1000, value) - q(999, value)))).toBeLessThan(1e-5);
  }
  expect(q(5000, -13)).toBeLessThan(q(5000, -12));
  const f = (pairs: number, difference: number) =>
    qVarianceNext({ index: 1, first: 0, pairs, squares: 2 * pairs }, difference, {}).point.value!;
  for (const difference of [0.01, 1, 5]) {
    const [before, at, after] = [f(998, difference), f(999, difference), f(1000, difference)];
    expect(Math.abs(after - at - (at - before))).toBeLessThan(1e-6);
  }
  expect(f(2000, 40)).toBeGreaterThan(f(2000, 16));
});

describe('edges', () => {
  test('equal values have no Q until one differs', () => {
    expect(plotted(qMeanChart([5, 5, 5, 6, 5]).points).map((value) => value === null)).toEqual([
      true,
      true,
      true,
      true,
      false,
    ]);
    expect(plotted(qVarianceChart([5, 5, 5, 5, 5, 6, 7, 9]).points).map((value) => value === null)).toEqual([
      true,
      true,
      true,
      true,
      true,
      true,
      true,
      false,
    ]);
    expect(qMeanChart([5, 4, 4.5]).points[2]!.value).toBe(0);
  });

  test('certain counts: 40 stands for infinity and signals', () => {
    const first = [
      { count: 0, size: 50 },
      { count: 0, size: 50 },
      { count: 1, size: 50 },
    ];
    for (const chart of [qBinomialChart, qPoissonChart]) {
      const { points, signals } = chart(first);
      expect(plotted(points)).toEqual([null, null, 40]);
      expect(signals).toEqual([2]);
    }
    expect(
      qBinomialChart([
        { count: 9, size: 9 },
        { count: 9, size: 9 },
      ]).points[1]!.value,
    ).toBeNull();
    expect(qBinomialChart([{ count: 9, size: 9 }], { standard: 0.5 }).points[0]!.value).toBe(40);
    expect(qPoissonChart([{ count: 0, size: 1e5 }], { standard: 1 }).points[0]!.value).toBe(-40);
    expect(qMeanChart([1, 2, 1e140]).points[2]!.value).toBeLessThanOrEqual(40);
    expect(
      qVarianceChart([1, 1 + 1e-16, 1, 1e140], { standardDeviation: 1e-3 }).points.map(({ value }) => value),
    ).toEqual([null, -40, null, 40]);
  });

  test('refusals', () => {
    expect(refusal(() => qMeanChart([]))).toBe('empty values');
    expect(refusal(() => qMeanChart([1, Number.NaN]))).toBe('not-finite values.1');
    expect(refusal(() => qMeanChart([1e141]))).toBe('out-of-range values.0');
    expect(refusal(() => qMeanChart([1], { parts: ['A', 'B'] }))).toBe('sizes-differ options.parts');
    expect(refusal(() => qMeanChart([1], { multiple: 40 }))).toBe('out-of-range options.multiple');
    expect(refusal(() => qMeanChart([1], { mean: Infinity }))).toBe('not-finite options.mean');
    expect(refusal(() => qMeanChart([1], { standardDeviation: 0 }))).toBe(
      'out-of-range options.standardDeviation',
    );
    const state = qMeanStart();
    expect(refusal(() => qMeanNext(state, Infinity, {}))).toBe('not-finite value');
    expect(refusal(() => qMeanNext({ ...state, index: -1 }, 1, {}))).toBe('out-of-range state.index');
    expect(refusal(() => qMeanNext({ ...state, count: 0.5 }, 1, {}))).toBe('not-an-integer state.count');
    expect(refusal(() => qMeanNext({ ...state, mean: 1e141 }, 1, {}))).toBe('out-of-range state.mean');
    expect(refusal(() => qMeanNext({ ...state, squares: -1 }, 1, {}))).toBe('out-of-range state.squares');
    expect(refusal(() => qMeanNext(state, 1, { multiple: 0 }))).toBe('out-of-range settings.multiple');
    expect(refusal(() => qMeanColumns(Float64Array.of(1, Number.NaN), {}))).toBe('not-finite values.1');
    const filled = qMeanColumns(Float64Array.of(1), {});
    expect(qMeanColumns(Float64Array.of(2), {}, filled)).toBe(filled);
    expect(refusal(() => qMeanColumns(Float64Array.of(1, 2), {}, filled))).toBe(
      'sizes-differ columns.values',
    );

    expect(refusal(() => qVarianceChart([1, Infinity]))).toBe('not-finite values.1');
    expect(refusal(() => qVarianceChart([1], { standardDeviation: -1 }))).toBe(
      'out-of-range options.standardDeviation',
    );
    const pair = qVarianceStart();
    expect(refusal(() => qVarianceNext({ ...pair, first: Number.NaN }, 1, {}))).toBe(
      'not-finite state.first',
    );
    expect(refusal(() => qVarianceNext({ ...pair, pairs: -1 }, 1, {}))).toBe('out-of-range state.pairs');
    expect(refusal(() => qVarianceNext({ ...pair, squares: Infinity }, 1, {}))).toBe(
      'not-finite state.squares',
    );
    expect(refusal(() => qVarianceNext(pair, 1e141, {}))).toBe('out-of-range value');
    expect(refusal(() => qVarianceColumns(Float64Array.of(1e141), {}))).toBe('out-of-range values.0');
    const stale = { values: Float64Array.of(7, 7, 7), beyondLimits: Uint8Array.of(1, 1, 1) };
    qVarianceColumns(Float64Array.of(1, 2, 3), {}, stale);
    expect([...stale.values, ...stale.beyondLimits]).toEqual([0, 0, 0, 0, 0, 0]);

    expect(refusal(() => qSubgroupChart([]))).toBe('empty subgroups');
    expect(refusal(() => qSubgroupChart([[1], [2, Number.NaN]]))).toBe('not-finite subgroups.1.1');
    const group = qSubgroupStart();
    expect(refusal(() => qSubgroupNext({ ...group, subgroups: 2, readings: 1 }, [1], {}))).toBe(
      'out-of-range state.subgroups',
    );
    expect(refusal(() => qSubgroupNext({ ...group, mean: Infinity }, [1], {}))).toBe('not-finite state.mean');
    expect(refusal(() => qSubgroupNext({ ...group, squares: -1 }, [1], {}))).toBe(
      'out-of-range state.squares',
    );
    expect(refusal(() => qSubgroupNext(group, [1e141], {}))).toBe('out-of-range subgroup.0');
    expect(refusal(() => qSubgroupColumns(new Float64Array(3), { subgroupSize: 2 }))).toBe(
      'sizes-differ readings',
    );
    expect(refusal(() => qSubgroupColumns(new Float64Array(3), { subgroupSize: 1 }))).toBe(
      'out-of-range settings.subgroupSize',
    );
    expect(refusal(() => qSubgroupColumns(Float64Array.of(1, Infinity), { subgroupSize: 2 }))).toBe(
      'not-finite readings.1',
    );

    for (const [chart, next, start, columns] of [
      [qBinomialChart, qBinomialNext, qBinomialStart, qBinomialColumns],
      [qPoissonChart, qPoissonNext, qPoissonStart, qPoissonColumns],
    ] as const) {
      expect(refusal(() => chart([]))).toBe('empty samples');
      expect(refusal(() => chart([{ count: -1, size: 9 }]))).toBe('out-of-range samples.0.count');
      expect(refusal(() => chart([{ count: 1, size: 2e8 }]))).toBe('out-of-range samples.0.size');
      expect(refusal(() => chart([null], { standard: 0 }))).toBe('out-of-range options.standard');
      expect(refusal(() => chart([null], { multiple: 41 }))).toBe('out-of-range options.multiple');
      expect(refusal(() => next({ ...start(), size: -1 }, null, {}))).toBe('out-of-range state.size');
      expect(refusal(() => next({ ...start(), samples: 0.5 }, null, {}))).toBe(
        'not-an-integer state.samples',
      );
      expect(refusal(() => next({ ...start(), count: 2e12 }, null, {}))).toBe('out-of-range state.count');
      expect(refusal(() => next(start(), { count: 0.5, size: 9 }, {}))).toBe('not-an-integer sample.count');
      expect(refusal(() => columns(Float64Array.of(1), Float64Array.of(1, 2), {}))).toBe(
        'sizes-differ sizes',
      );
      expect(refusal(() => columns(Float64Array.of(1, 0.5), Float64Array.of(1, 2), {}))).toBe(
        'not-an-integer counts.1',
      );
      expect(refusal(() => columns(Float64Array.of(1), Float64Array.of(0), {}))).toBe('out-of-range sizes.0');
      expect(refusal(() => columns(Float64Array.of(1), Float64Array.of(2e8), {}))).toBe(
        'out-of-range sizes.0',
      );
      expect(columns(Float64Array.of(1), Float64Array.of(1e8), { standard: 1e-8 }).beyondLimits[0]).toBe(0);
      expect(
        refusal(() => next({ index: 1, samples: 1, count: 0, size: 1e12 - 1 }, { count: 1, size: 9 }, {})),
      ).toBe('out-of-range sample.size');
    }
    expect(refusal(() => qBinomialNext({ index: 1, samples: 1, count: 2, size: 1 }, null, {}))).toBe(
      'out-of-range state.count',
    );
    expect(refusal(() => qBinomialChart([null], { standard: 1 }))).toBe('out-of-range options.standard');
    const oneSample = (count: number, size: number) => () =>
      qBinomialColumns(Float64Array.of(count), Float64Array.of(size), {});
    expect(refusal(oneSample(6, 5))).toBe('out-of-range counts.0');
    expect(refusal(oneSample(2, 5.5))).toBe('not-an-integer sizes.0');
    expect(
      refusal(() => qPoissonNext({ index: 1, samples: 1, count: 1e12, size: 1 }, { count: 1, size: 9 }, {})),
    ).toBe('out-of-range sample.count');
    expect(refusal(() => qPoissonChart([{ count: 1, size: 9 }], { standard: 1e8 }))).toBe(
      'out-of-range samples.0.size',
    );
    expect(refusal(() => qPoissonChart([{ count: 1, size: 1e-7 }]))).toBe('out-of-range samples.0.size');
  });
});
