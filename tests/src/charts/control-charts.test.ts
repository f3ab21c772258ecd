import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  evaluateSeries,
  individualsAndMovingRangeChart,
  meanAndRangeChart,
  meanAndStandardDeviationChart,
  type Subgroup,
} from '../../../src/index.ts';
import { reading, subgroup } from '../generators.ts';

const series = fc.array(subgroup, { minLength: 1, maxLength: 20 });
const charts = [
  ['mean-range', meanAndRangeChart],
  ['mean-standard-deviation', meanAndStandardDeviationChart],
] as const;

/** Every number in a result, however deep. */
function numbersIn(value: unknown): number[] {
  if (typeof value === 'number') return [value];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(numbersIn) : [];
}

describe.each(charts)('%s', (kind, chart) => {
  test('gives finite numbers for any subgroups, or says why not', () => {
    fc.assert(
      fc.property(series, (subgroups) => {
        const copy = structuredClone(subgroups);
        const result = chart(Object.freeze(subgroups.map((readings) => Object.freeze(readings))));
        expect(subgroups).toEqual(copy);
        for (const number of numbersIn(result)) expect(Number.isFinite(number)).toBe(true);
        if (!result.available) expect(['too-few-values', 'no-variation']).toContain(result.reason);
      }),
    );
  });

  test('draws the limits that a live evaluation judges by', () => {
    fc.assert(
      fc.property(series, (subgroups) => {
        const result = chart(subgroups);
        if (!result.available) return;
        const live = evaluateSeries(result.statistics, result.standard, {
          kind,
          locationRules: { rules: ['one-beyond-three-sigma'] },
          spreadRules: { rules: ['one-beyond-three-sigma'] },
          lowerNaturalBound: null,
          upperNaturalBound: null,
        });
        for (const which of ['location', 'spread'] as const) {
          expect(live.map((one) => one[which])).toEqual(
            result[which].points.map(({ value, limits }) => ({ value, limits })),
          );
          expect(live.map((one) => one.signals.some(({ chart }) => chart === which))).toEqual(
            result[which].points.map(({ beyondLimits }) => beyondLimits),
          );
        }
      }),
    );
  });

  test('other units rescale every limit', () => {
    fc.assert(
      fc.property(series, (subgroups) => {
        const here = chart(subgroups);
        const there = chart(
          subgroups.map((readings): Subgroup => readings.map((r) => (r === null ? null : r * 1000))),
        );
        if (!here.available || !there.available) return;
        here.location.points.forEach(({ limits, value }, index) => {
          const other = there.location.points[index]!;
          if (limits === null || value === null) {
            expect(other.limits).toBeNull();
            return;
          }
          expect(other.value! / 1000).toBeCloseTo(value, 10);
          expect(other.limits!.upperControlLimit! / 1000).toBeCloseTo(limits.upperControlLimit!, 10);
          expect(other.limits!.lowerControlLimit! / 1000).toBeCloseTo(limits.lowerControlLimit!, 10);
        });
      }),
    );
  });

  test.each([
    [[], {}, 'empty', 'subgroups'],
    [
      [
        [1, 2],
        [1, Number.NaN],
      ],
      {},
      'not-finite',
      'subgroups.1.1',
    ],
    [[[Infinity, 2]], {}, 'not-finite', 'subgroups.0.0'],
    [[[1, 2]], { multiple: -3 }, 'out-of-range', 'options.multiple'],
    [[[1, 2]], { method: 'x' }, 'unknown-name', 'options.method'],
    [
      [[1, 2]],
      { lowerNaturalBound: 3, upperNaturalBound: 1 },
      'limits-reversed',
      'options.lowerNaturalBound',
    ],
  ])('case %#: %j with %j is refused: %s at %s', (subgroups, options, code, argument) => {
    expect(() => chart(subgroups, options as never)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });
});

describe('individualsAndMovingRangeChart', () => {
  test('gives finite numbers for any values, or says why not', () => {
    const values = fc.array(fc.option(reading, { freq: 8 }), { minLength: 1, maxLength: 30 });
    fc.assert(
      fc.property(values, fc.integer({ min: 2, max: 5 }), (individuals, movingRangeSpan) => {
        const result = individualsAndMovingRangeChart(Object.freeze(individuals), { movingRangeSpan });
        for (const number of numbersIn(result)) expect(Number.isFinite(number)).toBe(true);
        if (!result.available) expect(['too-few-values', 'no-variation']).toContain(result.reason);
      }),
    );
  });

  test('does not exist for one value or without variation', () => {
    expect(individualsAndMovingRangeChart([1])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(individualsAndMovingRangeChart([1, 1, 1])).toMatchObject({
      available: false,
      reason: 'no-variation',
    });
  });

  test.each([
    [[], {}, 'empty', 'values'],
    [[1, Number.NaN], {}, 'not-finite', 'values.1'],
    [[1, 2], { movingRangeSpan: 1 }, 'out-of-range', 'options.movingRangeSpan'],
  ])('case %#: %j with %j is refused: %s at %s', (values, options, code, argument) => {
    expect(() => individualsAndMovingRangeChart(values, options)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });
});
