import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type ResidualChartSettings,
  residualChart,
  residualColumns,
  residualNext,
  residualStart,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { reading } from '../generators.ts';

function available<T>(outcome: { available: boolean } & T) {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<typeof outcome, { available: true }>;
}

const model = { mean: 10, coefficient: 0.6, residualStandardDeviation: 0.2 };
const settings = fc
  .record({
    mean: fc.constantFrom(9.5, 10),
    coefficient: fc.constantFrom(-0.7, 0, 0.3, 0.95),
    residualStandardDeviation: fc.constantFrom(0.05, 0.4),
  })
  .map((given): ResidualChartSettings => ({ model: given, multiple: 2 }));

describe('residualChart', () => {
  test('chart and live use agree, also across missing values', () => {
    fc.assert(
      fc.property(fc.array(fc.option(reading, { freq: 5 }), { maxLength: 30 }), settings, (values, given) => {
        const chart = available(residualChart(Object.freeze(values), given));
        let state = residualStart(given);
        chart.points.forEach((point, index) => {
          const live = residualNext(JSON.parse(JSON.stringify(state)), values[index]!, given);
          state = live.state;
          expect(live.point).toEqual(point);
          expect(point.size).toBe(values[index] === null ? 0 : 1);
        });
      }),
    );
  });

  test('columns agree to the last bit', () => {
    fc.assert(
      fc.property(fc.array(reading, { maxLength: 30 }), settings, (values, given) => {
        const { points } = available(residualChart(values, given));
        const columns = residualColumns(Float64Array.from(values), given);
        points.forEach(({ value, beyondLimits, limits }, index) => {
          expect(columns.values[index]).toBe(value);
          expect(columns.beyondLimits[index]).toBe(!beyondLimits ? 0 : value! > 0 ? 1 : 2);
          expect(columns.upperControlLimit).toBe(limits!.upperControlLimit);
          expect(columns.lowerControlLimit).toBe(limits!.lowerControlLimit);
        });
      }),
    );
  });

  test('the first value and one after a gap are brought to the same standard deviation', () => {
    const { points } = available(residualChart([11, 11, null, 11, null, null, 11], { model }));
    expect(points[0]!.value).toBeCloseTo(0.8, 14); // √(1 − 0.36)
    expect(points[1]!.value).toBeCloseTo(0.4, 14);
    expect(points[2]).toMatchObject({ value: null, size: 0, beyondLimits: false });
    expect(points[3]!.value).toBeCloseTo((1 - 0.36) / Math.sqrt(1 + 0.36), 14);
    expect(points[6]!.value).toBeCloseTo((1 - 0.216) / Math.sqrt(1 + 0.36 + 0.1296), 14);
    expect(points[6]!.limits).toEqual({
      centerLine: 0,
      lowerControlLimit: -3 * 0.2,
      upperControlLimit: 3 * 0.2,
      standardDeviation: 0.2,
    });
  });

  test('residuals of the process are independent and keep the false-alarm rate', () => {
    const random = randomSource(8);
    let deviation = random.normal() / Math.sqrt(1 - 0.36);
    const values = Array.from({ length: 40_000 }, () => {
      const value = 10 + 0.2 * deviation;
      deviation = 0.6 * deviation + random.normal();
      return value;
    });
    const given = available(residualChart(values, { model }));
    // 0.27 % of 40,000 is 108; four standard errors are 42.
    expect(Math.abs(given.signals.length - 108)).toBeLessThan(42);
    const fitted = available(residualChart(values));
    expect(fitted.basis.pairs).toBe(39_999);
    expect(fitted.basis.model.coefficient).toBeCloseTo(0.6, 1.5);
    expect(Math.abs(fitted.signals.length - given.signals.length)).toBeLessThan(15);
  });

  test('a step shows in full once, then as 1 − φ of it', () => {
    const { points, signals, basis, statistic } = available(residualChart([10, 10, 11, 11, 11], { model }));
    expect(points.map(({ value }) => Number(value!.toFixed(12)))).toEqual([0, 0, 1, 0.4, 0.4]);
    expect(signals).toEqual([2]);
    expect(statistic).toBe('residual');
    expect(basis).toEqual({ model, multiple: 3, pairs: 0 });
  });

  test('a value exactly on the limit is inside, above is 1, below is 2', () => {
    const unit = { model: { mean: 0, coefficient: 0, residualStandardDeviation: 1 }, multiple: 2 };
    expect([...residualColumns(Float64Array.of(2, -2, 2.001, -2.001), unit).beyondLimits]).toEqual([
      0, 0, 1, 2,
    ]);
    expect(available(residualChart([2, -2, 2.001, -2.001], unit)).signals).toEqual([2, 3]);
  });

  test('without a model the reasons of the fit come through', () => {
    expect(residualChart([1, 2])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(available(residualChart([], { model })).points).toEqual([]);
  });

  test.each([
    [[1, Number.NaN], { model }, 'not-finite', 'values.1'],
    [[1e300], { model }, 'out-of-range', 'values.0'],
    [[], {}, 'empty', 'values'],
    [[1], { model: { ...model, coefficient: 1 } }, 'out-of-range', 'options.model.coefficient'],
    [[1], { model: { ...model, coefficient: -1 } }, 'out-of-range', 'options.model.coefficient'],
    [
      [1],
      { model: { ...model, residualStandardDeviation: 0 } },
      'out-of-range',
      'options.model.residualStandardDeviation',
    ],
    [[1], { model: { ...model, mean: Infinity } }, 'not-finite', 'options.model.mean'],
    [[1], { model, multiple: 0 }, 'out-of-range', 'options.multiple'],
  ])('case %#: %j with %j is refused: %s at %s', (values, options, code, argument) => {
    expect(() => residualChart(values, options)).toThrowError(expect.objectContaining({ code, argument }));
  });

  test.each([
    [{ index: -1, deviation: 0, gap: null }, 'out-of-range', 'state.index'],
    [{ index: 0, deviation: Number.NaN, gap: null }, 'not-finite', 'state.deviation'],
    [{ index: 0, deviation: 0, gap: 0 }, 'out-of-range', 'state.gap'],
  ])('state %j is refused: %s at %s', (state, code, argument) => {
    expect(() => residualNext(state, 10, { model })).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });

  test('columns are filled again, and refused at another length', () => {
    const columns = { values: new Float64Array(2), beyondLimits: new Uint8Array(2) };
    expect(residualColumns(Float64Array.of(10, 11), { model }, columns).values).toBe(columns.values);
    expect([...columns.beyondLimits]).toEqual([0, 1]);
    for (const [bad, argument] of [
      [{ ...columns, values: new Float64Array(1) }, 'columns.values'],
      [{ ...columns, beyondLimits: new Uint8Array(3) }, 'columns.beyondLimits'],
    ] as const)
      expect(() => residualColumns(Float64Array.of(10, 11), { model }, bad)).toThrowError(
        expect.objectContaining({ code: 'sizes-differ', argument }),
      );
  });
});
