import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { StatisticsError } from '../../../src/errors.ts';
import { subgroupStatistics } from '../../../src/index.ts';
import { reading, subgroup } from '../generators.ts';

const readings = fc.array(reading, { minLength: 2, maxLength: 8 });

describe('subgroupStatistics', () => {
  test('leaves out missing readings', () => {
    expect(subgroupStatistics([1, null, 3])).toEqual({
      size: 2,
      mean: 2,
      range: 2,
      standardDeviation: Math.SQRT2,
    });
  });

  test('has no statistic without readings, and no spread of one reading', () => {
    const nothing = { size: 0, mean: null, range: null, standardDeviation: null };
    expect(subgroupStatistics([])).toEqual(nothing);
    expect(subgroupStatistics([null, null])).toEqual(nothing);
    expect(subgroupStatistics([null, 7])).toEqual({ ...nothing, size: 1, mean: 7 });
  });

  test('equal readings have exactly their value as mean and no spread', () => {
    fc.assert(
      fc.property(reading, fc.integer({ min: 2, max: 9 }), (value, size) => {
        const { mean, range, standardDeviation } = subgroupStatistics(Array(size).fill(value));
        expect([mean, range, standardDeviation]).toEqual([value, 0, 0]);
      }),
    );
  });

  test('another order of the readings changes nothing but the last digit', () => {
    fc.assert(
      fc.property(readings, (values) => {
        const here = subgroupStatistics(values);
        const there = subgroupStatistics(values.toReversed());
        expect(there.range).toBe(here.range);
        expect(there.mean).toBeCloseTo(here.mean!, 13);
        expect(there.standardDeviation).toBeCloseTo(here.standardDeviation!, 12);
      }),
    );
  });

  test('other units rescale, an added constant moves the mean alone', () => {
    fc.assert(
      fc.property(readings, (values) => {
        const here = subgroupStatistics(values);
        const inInches = subgroupStatistics(values.map((value) => value / 25.4));
        expect(inInches.mean).toBeCloseTo(here.mean! / 25.4, 13);
        expect(inInches.standardDeviation).toBeCloseTo(here.standardDeviation! / 25.4, 12);
        const moved = subgroupStatistics(values.map((value) => value + 1000));
        expect(moved.mean).toBeCloseTo(here.mean! + 1000, 11);
        expect(moved.range).toBeCloseTo(here.range!, 11);
        expect(moved.standardDeviation).toBeCloseTo(here.standardDeviation!, 11);
      }),
    );
  });

  test('frozen readings stay as they are', () => {
    fc.assert(
      fc.property(subgroup, (values) => {
        const copy = [...values];
        subgroupStatistics(Object.freeze(values));
        expect(values).toEqual(copy);
      }),
    );
  });

  test.each([
    [[1, Number.NaN], 'not-finite', 'subgroup.1'],
    [[Infinity], 'not-finite', 'subgroup.0'],
    [[1, null, -Infinity], 'not-finite', 'subgroup.2'],
    [[1e308, -1e308], 'out-of-range', 'subgroup'],
    [[1e200, -1e200], 'out-of-range', 'subgroup'],
    [[1, undefined as unknown as number], 'not-finite', 'subgroup.1'],
    [['1.5' as unknown as number, 2], 'not-finite', 'subgroup.0'],
  ])('%j is refused: %s at %s', (values, code, argument) => {
    expect(() => subgroupStatistics(values)).toThrowError(expect.objectContaining({ code, argument }));
    expect(() => subgroupStatistics(values)).toThrowError(StatisticsError);
  });
});
