import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  chartFactors,
  type Subgroup,
  type ThreeWaySettings,
  threeWayChart,
  threeWayColumns,
  threeWayNext,
  threeWayStart,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { subgroup } from '../generators.ts';

const standard = { mean: 10, withinSubgroupStandardDeviation: 0.1, meanStandardDeviation: 0.3 };
const series = fc.array(subgroup, { minLength: 1, maxLength: 20 });
const within = fc.constantFrom('range' as const, 'standard-deviation' as const);

function chartOf(subgroups: readonly Subgroup[], options: Parameters<typeof threeWayChart>[1] = {}) {
  const chart = threeWayChart(subgroups, options);
  if (!chart.available) throw new Error(chart.message);
  return chart;
}

/** Live: one subgroup after the other. */
function live(subgroups: readonly Subgroup[], settings: ThreeWaySettings) {
  let state = threeWayStart();
  return subgroups.map((one) => {
    const next = threeWayNext(state, one, settings);
    state = JSON.parse(JSON.stringify(next.state));
    return next.points;
  });
}

describe('threeWayChart', () => {
  test('draws the limits that its definition gives', () => {
    const chart = chartOf([
      [1, 3],
      [5, 5],
      [2, 4],
      [7, 8],
    ]);
    // Means 2, 5, 3, 7.5: moving ranges 3, 2, 4.5; ranges 2, 0, 2, 1. d2(2) = 2/√π, D4(2) = 3.26653.
    const d2 = 2 / Math.sqrt(Math.PI);
    const { D4, d3 } = chartFactors(2);
    const ofMeans = 9.5 / 3 / d2;
    expect(chart.basis.standard.mean).toBe(4.375);
    expect(chart.basis.standard.meanStandardDeviation).toBeCloseTo(ofMeans, 12);
    expect(chart.basis.standard.withinSubgroupStandardDeviation).toBeCloseTo(1.25 / d2, 12);
    expect(chart.basis).toMatchObject({ method: 'range', subgroupsUsed: 4, readingsUsed: 8 });
    expect(chart.mean.points[2]).toMatchObject({ index: 2, value: 3, size: 2, beyondLimits: false });
    expect(chart.mean.points[0]!.limits!.upperControlLimit).toBeCloseTo(4.375 + 3 * ofMeans, 10);
    expect(chart.mean.points[0]!.limits!.lowerControlLimit).toBeCloseTo(4.375 - 3 * ofMeans, 10);
    expect(chart.movingRange.points.map(({ value }) => value)).toEqual([null, 3, 2, 4.5]);
    expect(chart.movingRange.points.map(({ size }) => size)).toEqual([0, 2, 2, 2]);
    expect(chart.movingRange.points[1]!.limits!.upperControlLimit).toBeCloseTo((9.5 / 3) * D4, 10);
    expect(chart.movingRange.points[1]!.limits!.lowerControlLimit).toBeNull();
    expect(chart.movingRange.points[1]!.limits!.standardDeviation).toBeCloseTo(d3 * ofMeans, 10);
    expect(chart.within.points.map(({ value }) => value)).toEqual([2, 0, 2, 1]);
    expect(chart.within.points[0]!.limits!.upperControlLimit).toBeCloseTo(1.25 * D4, 10);
    const inside = (1.25 / d2) ** 2;
    const between = ofMeans ** 2 - inside / 2;
    expect(chart.basis.components!.within).toBeCloseTo(inside, 10);
    expect(chart.basis.components!.between).toBeCloseTo(between, 10);
    expect(chart.basis.components!.betweenPercent).toBeCloseTo((100 * between) / (between + inside), 8);
    expect([chart.mean, chart.movingRange, chart.within].map(({ statistic }) => statistic)).toEqual([
      'mean',
      'moving range',
      'range',
    ]);
  });

  test('between is never negative, its raw value may be', () => {
    // The means hardly move: 2, 2.1, 2.
    const { components } = chartOf([
      [0, 4],
      [0.1, 4.1],
      [0, 4],
    ]).basis;
    expect(components!.rawBetween).toBeLessThan(0);
    expect(components).toMatchObject({ between: 0, betweenPercent: 0 });
  });

  test('subgroups of different sizes share the variance inside by the average of 1/n', () => {
    const { components } = chartOf([[1, 2], [1, 2, 3, 4], [null]], { standard }).basis;
    expect(components!.rawBetween).toBeCloseTo(0.09 - (0.01 * (1 / 2 + 1 / 4)) / 2, 12);
    expect(chartOf([[null], []], { standard }).basis.components).toBeNull();
  });

  test('a missing subgroup leaves no moving range to itself or to the next', () => {
    const chart = chartOf([[1, 3], [null, null], [2, 4], [5]], { standard });
    expect(chart.movingRange.points.map(({ value }) => value)).toEqual([null, null, null, 2]);
    expect(chart.mean.points[1]).toMatchObject({ value: null, size: 0, limits: null });
    expect(chart.within.points[3]).toMatchObject({ value: null, size: 1, limits: null });
  });

  test('all three routes agree, on range and on standard deviation', () => {
    const reading = fc.integer({ min: 900, max: 1100 }).map((hundredths) => hundredths / 100);
    const sized = fc
      .tuple(fc.integer({ min: 2, max: 5 }), fc.integer({ min: 1, max: 15 }))
      .chain(([size, count]) =>
        fc.array(fc.array(reading, { minLength: size, maxLength: size }), {
          minLength: count,
          maxLength: count,
        }),
      );
    fc.assert(
      fc.property(sized, within, fc.constantFrom(1, 3), (subgroups, inside, multiple) => {
        const settings = { standard, within: inside, multiple, lowerNaturalBound: 9.5 };
        const chart = chartOf(subgroups, settings);
        const points = live(subgroups, settings);
        expect(points.map((point) => point.mean)).toEqual(chart.mean.points);
        expect(points.map((point) => point.movingRange)).toEqual(chart.movingRange.points);
        expect(points.map((point) => point.within)).toEqual(chart.within.points);
        const readings = Float64Array.from(subgroups.flat());
        const columns = threeWayColumns(readings, { ...settings, subgroupSize: subgroups[0]!.length });
        expect([...columns.means]).toEqual(chart.mean.points.map(({ value }) => value));
        expect([...columns.movingRanges]).toEqual(chart.movingRange.points.map(({ value }) => value ?? 0));
        expect([...columns.spreads]).toEqual(chart.within.points.map(({ value }) => value));
        const places = (flags: Uint8Array) => [...flags.keys()].filter((place) => flags[place] !== 0);
        expect(places(columns.meansBeyondLimits)).toEqual(chart.signals.mean);
        expect(places(columns.movingRangesBeyondLimits)).toEqual(chart.signals.movingRange);
        expect(places(columns.spreadsBeyondLimits)).toEqual(chart.signals.within);
        // Columns are filled again, not made anew.
        const again = threeWayColumns(readings, { ...settings, subgroupSize: subgroups[0]!.length }, columns);
        expect(again.means).toBe(columns.means);
      }),
      { numRuns: 60 },
    );
  });

  test('live agrees with gaps and sizes that change', () => {
    fc.assert(
      fc.property(series, within, (subgroups, inside) => {
        const chart = chartOf(subgroups, { standard, within: inside });
        const points = live(subgroups, { standard, within: inside });
        expect(points.map((point) => point.movingRange)).toEqual(chart.movingRange.points);
        expect(points.map((point) => point.within)).toEqual(chart.within.points);
      }),
      { numRuns: 50 },
    );
  });

  test('limits move and scale with the readings', () => {
    fc.assert(
      fc.property(series, (subgroups) => {
        const chart = threeWayChart(subgroups);
        const other = threeWayChart(
          subgroups.map((one) => one.map((reading) => (reading === null ? null : 1000 * reading - 9000))),
        );
        expect(other.available).toBe(chart.available);
        if (!chart.available || !other.available) return;
        const limits = chart.mean.points.find((point) => point.limits !== null)!.limits!;
        const scaled = other.mean.points.find((point) => point.limits !== null)!.limits!;
        expect((scaled.upperControlLimit! + 9000) / 1000).toBeCloseTo(limits.upperControlLimit!, 8);
        expect(other.signals).toEqual(chart.signals);
        expect(other.basis.components!.betweenPercent).toBeCloseTo(chart.basis.components!.betweenPercent, 6);
      }),
      { numRuns: 50 },
    );
  });

  test('level moving from batch to batch gives few false signals; limits from inside would give many', () => {
    const { normal } = randomSource(20);
    const subgroups = Array.from({ length: 3000 }, () => {
      const coil = 2.3 + 0.02 * normal();
      return Array.from({ length: 3 }, () => coil + 0.01 * normal());
    });
    const chart = chartOf(subgroups);
    // 0.27 % of 3000 means is 8, standard deviation 2.8; ranges of n = 3 go beyond 3 standard deviations 0.58 % of the time.
    expect(chart.signals.mean.length).toBeLessThan(20);
    expect(chart.signals.within.length).toBeLessThan(35);
    expect(chart.signals.within.length).toBeGreaterThan(4);
    // Moving ranges of normal means: 0.92 %, of neighbours not independent.
    expect(chart.signals.movingRange.length).toBeGreaterThan(10);
    expect(chart.signals.movingRange.length).toBeLessThan(55);
    expect(chart.basis.components!.between / 0.0004).toBeCloseTo(1, 0);
    expect(Math.abs(chart.basis.components!.between / 0.0004 - 1)).toBeLessThan(0.12);
    expect(Math.abs(chart.basis.components!.within / 0.0001 - 1)).toBeLessThan(0.08);
    const plain = chartOf(subgroups, {
      standard: { ...chart.basis.standard, meanStandardDeviation: 0.01 / Math.sqrt(3) },
    });
    expect(plain.basis.method).toBe('given');
    expect(plain.signals.mean.length).toBeGreaterThan(900);
  });

  test.each<[string, () => unknown, string, string]>([
    ['no subgroup', () => threeWayChart([]), 'subgroups', 'empty'],
    [
      'a wrong name',
      () => threeWayChart([[1]], { within: 'sd' as 'range' }),
      'options.within',
      'unknown-name',
    ],
    [
      'a standard without movement of means',
      () => threeWayChart([[1]], { standard: { ...standard, meanStandardDeviation: null } }),
      'options.standard.meanStandardDeviation',
      'out-of-range',
    ],
    [
      'a standard of no width',
      () => threeWayChart([[1]], { standard: { ...standard, withinSubgroupStandardDeviation: 0 } }),
      'options.standard.withinSubgroupStandardDeviation',
      'out-of-range',
    ],
    [
      'a state that was never one',
      () => threeWayNext({ index: -1, previousMean: null }, [1], { standard }),
      'state.index',
      'out-of-range',
    ],
    [
      'a mean that is none',
      () => threeWayNext({ index: 1, previousMean: Number.NaN }, [1], { standard }),
      'state.previousMean',
      'not-finite',
    ],
    [
      'means too far apart',
      () => threeWayNext({ index: 1, previousMean: -1.7e308 }, [1.7e308], { standard }),
      'state.previousMean',
      'out-of-range',
    ],
    [
      'half a subgroup',
      () => threeWayColumns(Float64Array.of(1, 2, 3), { standard, subgroupSize: 2 }),
      'readings',
      'sizes-differ',
    ],
    [
      'a reading that is none',
      () => threeWayColumns(Float64Array.of(1, Number.NaN), { standard, subgroupSize: 2 }),
      'readings.1',
      'not-finite',
    ],
    [
      'no reading',
      () => threeWayColumns(new Float64Array(0), { standard, subgroupSize: 2 }),
      'readings',
      'empty',
    ],
    [
      'columns of another length',
      () =>
        threeWayColumns(
          Float64Array.of(1, 2, 3, 4),
          { standard, subgroupSize: 2 },
          threeWayColumns(Float64Array.of(1, 2), { standard, subgroupSize: 2 }),
        ),
      'columns.means',
      'sizes-differ',
    ],
  ])('refuses %s', (_, call, argument, code) => {
    expect(call).toThrow(expect.objectContaining({ argument, code }));
  });

  test('has no limits where the series shows no movement', () => {
    expect(threeWayChart([[1, 2]])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(
      threeWayChart([
        [1, 2],
        [1, 2],
      ]),
    ).toMatchObject({ available: false, reason: 'no-variation' });
  });
});
