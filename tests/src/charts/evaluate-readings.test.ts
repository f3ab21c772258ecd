import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  estimateStandard,
  evaluateReadings,
  evaluateSeries,
  type PointEvaluation,
  runRuleNames,
  subgroupStatistics,
} from '../../../src/index.ts';

const all = { rules: runRuleNames };
const options = { subgroupSize: 4, locationRules: all, spreadRules: all };
const bounds = { lowerNaturalBound: null, upperNaturalBound: null };

function inSubgroups(readings: Float64Array, size: number): number[][] {
  return Array.from({ length: readings.length / size }, (_, i) => [
    ...readings.subarray(i * size, (i + 1) * size),
  ]);
}

const mask = (evaluation: PointEvaluation, chart: 'location' | 'spread') =>
  evaluation.signals
    .filter((signal) => signal.chart === chart)
    .reduce((bits, { rule }) => bits | (1 << runRuleNames.indexOf(rule)), 0);

/** Coarse readings, drifting, about a level that may be far from zero, near it, or negative. */
const readings = fc
  .tuple(
    fc.array(fc.integer({ min: -5, max: 5 }), { minLength: 4, maxLength: 400, size: 'max' }),
    fc.constantFrom(0, 0.02, 10, -10, 12_345_678),
    fc.integer({ min: -3, max: 3 }),
  )
  .map(([steps, level, slope]) =>
    Float64Array.from(
      steps.slice(0, steps.length - (steps.length % 4)),
      (step, i) => level + (step + slope * ((i % 97) / 30)) / 100,
    ),
  );

describe('evaluateReadings', () => {
  test('gives what the path of objects gives, bit for bit', () => {
    let signals = 0;
    fc.assert(
      fc.property(readings, fc.boolean(), (values, outsideMustBeOnBothSides) => {
        const rules = { ...all, outsideMustBeOnBothSides };
        const statistics = inSubgroups(values, 4).map(subgroupStatistics);
        const flat = evaluateReadings(values, { ...options, locationRules: rules, spreadRules: rules });
        const estimated = estimateStandard(statistics, { method: 'range' });
        expect(flat.available).toBe(estimated.available);
        if (!flat.available || !estimated.available) return;
        expect(flat.standard).toEqual(estimated.standard);
        const series = evaluateSeries(statistics, flat.standard, {
          kind: 'mean-range',
          locationRules: rules,
          spreadRules: rules,
          ...bounds,
        });
        expect([...flat.means]).toEqual(series.map(({ location }) => location.value));
        expect([...flat.ranges]).toEqual(series.map(({ spread }) => spread.value));
        expect(flat.locationLimits).toEqual(series[0]!.location.limits);
        expect(flat.spreadLimits).toEqual(series[0]!.spread.limits);
        expect([...flat.locationSignals]).toEqual(series.map((one) => mask(one, 'location')));
        expect([...flat.spreadSignals]).toEqual(series.map((one) => mask(one, 'spread')));
        signals += flat.locationSignals.filter((bits) => bits !== 0).length;
      }),
      { numRuns: 200 },
    );
    expect(signals).toBeGreaterThan(100);
  });

  test('the same with means exactly on the lines of a given standard', () => {
    const quarter = fc.array(fc.integer({ min: -8, max: 8 }), { minLength: 1, maxLength: 120 });
    fc.assert(
      fc.property(quarter, fc.constantFrom(0, 8, 1e6), fc.boolean(), (quarters, level, bounded) => {
        const values = Float64Array.from(quarters.flatMap((q) => Array(4).fill(level + q / 2)));
        // Standard deviation of the mean 1/2: every mean lies on a line or half-way between two.
        const standard = { mean: level, withinSubgroupStandardDeviation: 1, meanStandardDeviation: null };
        const natural = { ...bounds, lowerNaturalBound: bounded ? level - 1 : null };
        const flat = evaluateReadings(values, { ...options, ...natural, standard });
        if (!flat.available) throw new Error(flat.message);
        const statistics = inSubgroups(values, 4).map(subgroupStatistics);
        const series = evaluateSeries(statistics, standard, {
          kind: 'mean-range',
          locationRules: all,
          spreadRules: all,
          ...natural,
        });
        expect([...flat.locationSignals]).toEqual(series.map((one) => mask(one, 'location')));
        expect([...flat.spreadSignals]).toEqual(series.map((one) => mask(one, 'spread')));
      }),
    );
  });

  test('the same without variation, and far beyond the limits', () => {
    const values = Float64Array.from([5, 5, 5, 5, 9e9, 9e9, 9e9, 9e9, -9e9, -9e9, -9e9, -9e9, 5, 5, 5, 5]);
    for (const withinSubgroupStandardDeviation of [0, 1e-12, 1]) {
      const standard = { mean: 5, withinSubgroupStandardDeviation, meanStandardDeviation: null };
      const flat = evaluateReadings(values, { ...options, standard });
      if (!flat.available) throw new Error(flat.message);
      expect([...flat.locationSignals].map((bits) => bits & 1)).toEqual([0, 1, 1, 0]);
      const series = evaluateSeries(inSubgroups(values, 4).map(subgroupStatistics), standard, {
        kind: 'mean-range',
        locationRules: all,
        spreadRules: all,
        ...bounds,
      });
      expect([...flat.locationSignals]).toEqual(series.map((one) => mask(one, 'location')));
    }
  });

  test('columns of an earlier evaluation are written over', () => {
    const first = evaluateReadings(Float64Array.of(1, 2, 3, 9, 90, 92, 93, 94), options);
    if (!first.available) throw new Error(first.message);
    const again = evaluateReadings(Float64Array.of(1, 2, 3, 4, 1, 2, 3, 5), { ...options, columns: first });
    const fresh = evaluateReadings(Float64Array.of(1, 2, 3, 4, 1, 2, 3, 5), options);
    expect(again).toEqual(fresh);
    if (again.available) expect(again.means).toBe(first.means);
  });

  test('readings without any range have no limits', () => {
    expect(evaluateReadings(new Float64Array(8), options)).toMatchObject({
      available: false,
      reason: 'no-variation',
    });
  });

  test.each([
    [[], {}, 'empty', 'readings'],
    [[1, 2, 3], {}, 'sizes-differ', 'readings'],
    [[1, 2, 3, Number.NaN], {}, 'not-finite', 'readings.3'],
    [[1, 2, 3, 4, 1, Infinity, 3, 4], {}, 'not-finite', 'readings.5'],
    [[1e308, -1e308, 3, 4], {}, 'out-of-range', 'readings.0'],
    [[1, 2, 3, 4], { subgroupSize: 1 }, 'out-of-range', 'options.subgroupSize'],
    [[1, 2, 3, 4], { subgroupSize: 101 }, 'out-of-range', 'options.subgroupSize'],
    [[1, 2, 3, 4], { locationRules: { rules: ['x'] } }, 'unknown-name', 'options.locationRules.rules.0'],
    [
      [1, 2, 3, 4],
      { lowerNaturalBound: 2, upperNaturalBound: 1 },
      'limits-reversed',
      'options.lowerNaturalBound',
    ],
  ])('case %#: %j with %j is refused: %s at %s', (values, change, code, argument) => {
    expect(() =>
      evaluateReadings(Float64Array.from(values), { ...options, ...change } as never),
    ).toThrowError(expect.objectContaining({ code, argument }));
  });
});
