import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { estimateStandard, type StandardDeviationMethod, subgroupStatistics } from '../../../src/index.ts';
import { subgroup } from '../generators.ts';

// The estimates themselves are reference cases (tests/reference/variables-charts.json).
const methods: Exclude<StandardDeviationMethod, 'given' | 'moving-range'>[] = [
  'range',
  'standard-deviation',
  'range-minimum-variance',
  'standard-deviation-minimum-variance',
  'pooled',
  'pooled-unbiased',
];

describe('estimateStandard', () => {
  test.each(methods)('%s: other units rescale, an added constant moves the mean alone', (method) => {
    fc.assert(
      fc.property(fc.array(subgroup, { minLength: 1, maxLength: 12 }), (subgroups) => {
        const estimate = (change: (reading: number) => number) =>
          estimateStandard(
            subgroups.map((readings) =>
              subgroupStatistics(readings.map((reading) => (reading === null ? null : change(reading)))),
            ),
            { method },
          );
        const here = estimate((reading) => reading);
        const inMicrometres = estimate((reading) => reading * 1000);
        const moved = estimate((reading) => reading + 64);
        if (!here.available) return;
        if (!inMicrometres.available || !moved.available) throw new Error('one of three is unavailable');
        expect(inMicrometres.standard.mean / here.standard.mean).toBeCloseTo(1000, 9);
        const within = here.standard.withinSubgroupStandardDeviation;
        expect(inMicrometres.standard.withinSubgroupStandardDeviation / within).toBeCloseTo(1000, 6);
        expect(moved.standard.mean).toBeCloseTo(here.standard.mean + 64, 11);
        expect(moved.standard.withinSubgroupStandardDeviation).toBeCloseTo(within, 11);
      }),
    );
  });

  test.each(methods)('%s: subgroups in another order give the same standard', (method) => {
    fc.assert(
      fc.property(fc.array(subgroup, { minLength: 1, maxLength: 12 }), (subgroups) => {
        const statistics = subgroups.map(subgroupStatistics);
        const here = estimateStandard(Object.freeze(statistics), { method });
        const there = estimateStandard(statistics.toReversed(), { method });
        if (!here.available || !there.available) {
          expect(there).toEqual(here);
          return;
        }
        expect(there.standard.mean).toBeCloseTo(here.standard.mean, 12);
        const within = here.standard.withinSubgroupStandardDeviation;
        expect(there.standard.withinSubgroupStandardDeviation).toBeCloseTo(within, 12);
        expect([there.subgroupsUsed, there.readingsUsed]).toEqual([here.subgroupsUsed, here.readingsUsed]);
      }),
    );
  });

  test('the moving range of means sees what moves between subgroups', () => {
    // Means 10, 12, 11, null, 14, 10: moving ranges 2, 1, 4, average 7/3; d2(2) = 2/√π.
    const statistics = [[9, 11], [11, 13], [10, 12], [null], [13, 15], [9, 11]].map(subgroupStatistics);
    const result = estimateStandard(statistics, { method: 'range', meanLimitsFrom: 'moving-range-of-means' });
    expect(result).toMatchObject({ available: true, subgroupsUsed: 5, readingsUsed: 10 });
    if (!result.available) return;
    expect(result.standard.mean).toBeCloseTo(11.4, 13);
    expect(result.standard.withinSubgroupStandardDeviation).toBeCloseTo(Math.sqrt(Math.PI), 13);
    expect(result.standard.meanStandardDeviation).toBeCloseTo((7 / 3 / 2) * Math.sqrt(Math.PI), 13);
  });

  test.each([
    ['no reading at all', [[null], []], { method: 'range' }, 'too-few-values'],
    ['one reading a subgroup', [[1], [2]], { method: 'pooled' }, 'too-few-values'],
    ['one individual', [[1]], { method: 'moving-range' }, 'too-few-values'],
    ['individuals with gaps', [[1], [null], [2]], { method: 'moving-range' }, 'too-few-values'],
    [
      'constant subgroups',
      [
        [5, 5],
        [6, 6],
      ],
      { method: 'standard-deviation' },
      'no-variation',
    ],
    ['constant individuals', [[5], [5]], { method: 'moving-range' }, 'no-variation'],
    [
      'one subgroup',
      [[5, 6]],
      { method: 'range', meanLimitsFrom: 'moving-range-of-means' },
      'too-few-values',
    ],
    [
      'equal means',
      [
        [5, 6],
        [6, 5],
      ],
      { method: 'range', meanLimitsFrom: 'moving-range-of-means' },
      'no-variation',
    ],
  ] as const)('%s: no standard, and why', (_, subgroups, options, reason) => {
    const result = estimateStandard(subgroups.map(subgroupStatistics), options);
    expect(result).toMatchObject({ available: false, reason });
  });

  const good = subgroupStatistics([1, 2]);
  test.each([
    [[], { method: 'range' }, 'empty', 'statistics'],
    [[good], { method: 'guess' }, 'unknown-name', 'options.method'],
    [[good], { method: 'moving-range' }, 'out-of-range', 'statistics.0.size'],
    [
      [subgroupStatistics([1])],
      { method: 'moving-range', movingRangeSpan: 1 },
      'out-of-range',
      'options.movingRangeSpan',
    ],
    [[good, { ...good, mean: Number.NaN }], { method: 'range' }, 'not-finite', 'statistics.1.mean'],
    [[{ ...good, range: Number.NaN }], { method: 'range' }, 'out-of-range', 'statistics.0'],
    [[{ ...good, range: -1 }], { method: 'range' }, 'out-of-range', 'statistics.0'],
    [[{ ...good, size: 200 }], { method: 'range' }, 'out-of-range', 'statistics.0.size'],
    [
      [
        { ...good, mean: 1.7e308 },
        { ...good, mean: -1.7e308 },
      ],
      { method: 'range' },
      'out-of-range',
      'statistics',
    ],
  ])('case %#: %j with %j is refused: %s at %s', (statistics, options, code, argument) => {
    expect(() => estimateStandard(statistics, options as never)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });
});
