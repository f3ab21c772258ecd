import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { toolWearChart, toolWearColumns, toolWearPoint, type WearSample } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

const sample = fc.record({
  hits: fc.nat({ max: 300 }),
  value: fc.integer({ min: 2400, max: 2600 }).map((thousandths) => thousandths / 1000),
  tool: fc.nat({ max: 2 }),
});
const settings = { slope: 0.01, intercept: 5, residualStandardDeviation: 0.1 };
const columnSettings = { slope: 0.01, intercepts: [5, 6], residualStandardDeviation: 0.1 };

describe('toolWearChart', () => {
  test('all three routes agree', () => {
    fc.assert(
      fc.property(
        fc.array(sample, { minLength: 6, maxLength: 40 }),
        fc.constantFrom(0.5, 1, 3),
        (samples, multiple) => {
          const chart = toolWearChart(samples, { multiple });
          if (!chart.available) return;
          const { line } = chart.basis;
          const { slope, residualStandardDeviation, cycles } = line;
          const live = samples.map(({ hits, value, tool }, index) => ({
            ...toolWearPoint(
              { hits, value },
              {
                slope,
                residualStandardDeviation,
                multiple,
                intercept: cycles.find((cycle) => cycle.tool === tool)!.intercept,
              },
            ),
            index,
          }));
          expect(live).toEqual(chart.points);
          const columns = toolWearColumns(
            Float64Array.from(samples, ({ hits }) => hits),
            Float64Array.from(samples, ({ value }) => value),
            Uint32Array.from(samples, ({ tool }) => cycles.findIndex((cycle) => cycle.tool === tool)),
            {
              slope,
              residualStandardDeviation,
              multiple,
              intercepts: cycles.map(({ intercept }) => intercept),
            },
          );
          expect([...columns.centerLines]).toEqual(chart.points.map(({ limits }) => limits!.centerLine));
          expect([...columns.lowerControlLimits]).toEqual(
            chart.points.map(({ limits }) => limits!.lowerControlLimit),
          );
          expect([...columns.upperControlLimits]).toEqual(
            chart.points.map(({ limits }) => limits!.upperControlLimit),
          );
          expect([...columns.beyondLimits.keys()].filter((i) => columns.beyondLimits[i] !== 0)).toEqual(
            chart.signals,
          );
          expect(
            chart.points.every(({ limits }) => limits!.standardDeviation === residualStandardDeviation),
          ).toBe(true);
        },
      ),
      { numRuns: 80 },
    );
  });

  test('wear alone is no signal, a step is', () => {
    const { normal } = randomSource(6);
    const samples: WearSample[] = Array.from({ length: 600 }, (_, i) => ({
      hits: 100 * (i % 60),
      value: 5 + 0.0005 * (i % 60) * 100 + 0.1 * normal(),
      tool: Math.floor(i / 60),
    }));
    const chart = toolWearChart(samples);
    if (!chart.available) throw new Error(chart.message);
    // 0.27 % of 600 is 1.6; the wear itself is 30 standard deviations.
    expect(chart.signals.length).toBeLessThan(7);
    expect(chart.basis.line.cycles).toHaveLength(10);
    const { slope, residualStandardDeviation } = chart.basis.line;
    const { intercept } = chart.basis.line.cycles.at(-1)!;
    const line = { slope, intercept, residualStandardDeviation };
    expect(toolWearPoint({ hits: 6000, value: intercept + 6000 * slope + 0.5 }, line).beyondLimits).toBe(
      true,
    );
    expect(toolWearPoint({ hits: 6000, value: intercept + 6000 * slope }, line).beyondLimits).toBe(false);
  });

  test('a value exactly on a limit is inside', () => {
    const on = { slope: 0.5, intercept: 1, residualStandardDeviation: 0.25, multiple: 2 };
    expect(toolWearPoint({ hits: 4, value: 3.5 }, on).beyondLimits).toBe(false);
    expect(toolWearPoint({ hits: 4, value: 2.5 }, on).beyondLimits).toBe(false);
    expect(toolWearPoint({ hits: 4, value: 3.5000001 }, on).beyondLimits).toBe(true);
    expect(toolWearPoint({ hits: 4, value: 2.4999999 }, on).beyondLimits).toBe(true);
    const { beyondLimits } = toolWearColumns(
      Float64Array.of(4, 4, 4, 4),
      Float64Array.of(3.5, 2.5, 3.5000001, 2.4999999),
      new Uint32Array(4),
      { ...on, intercepts: [1] },
    );
    expect([...beyondLimits]).toEqual([0, 0, 1, 2]);
  });

  test('a missing value still has its limits', () => {
    expect(toolWearPoint({ hits: 10, value: null }, settings)).toEqual({
      index: 0,
      value: null,
      size: 0,
      limits: {
        centerLine: 5.1,
        lowerControlLimit: 5.1 - 3 * 0.1,
        upperControlLimit: 5.1 + 3 * 0.1,
        standardDeviation: 0.1,
      },
      beyondLimits: false,
    });
  });

  const one = Float64Array.of(1);
  const first = Uint32Array.of(0);
  test.each<[string, () => unknown, string]>([
    ['options.multiple', () => toolWearChart([], { multiple: 0 }), 'out-of-range'],
    ['samples', () => toolWearChart([]), 'empty'],
    ['sample.hits', () => toolWearPoint({ hits: -1, value: 1 }, settings), 'out-of-range'],
    ['sample.value', () => toolWearPoint({ hits: 1, value: Number.NaN }, settings), 'not-finite'],
    [
      'settings.slope',
      () => toolWearPoint({ hits: 1, value: 1 }, { ...settings, slope: Infinity }),
      'not-finite',
    ],
    [
      'settings.intercept',
      () => toolWearPoint({ hits: 1, value: 1 }, { ...settings, intercept: Number.NaN }),
      'not-finite',
    ],
    [
      'settings.slope',
      () => toolWearPoint({ hits: 1e10, value: 1 }, { ...settings, slope: 1e300 }),
      'out-of-range',
    ],
    [
      'settings.residualStandardDeviation',
      () => toolWearPoint({ hits: 1, value: 1 }, { ...settings, residualStandardDeviation: 0 }),
      'out-of-range',
    ],
    [
      'settings.multiple',
      () => toolWearPoint({ hits: 1, value: 1 }, { ...settings, multiple: -3 }),
      'out-of-range',
    ],
    [
      'settings.intercepts',
      () => toolWearColumns(one, one, first, { ...columnSettings, intercepts: [] }),
      'empty',
    ],
    ['hits', () => toolWearColumns(Float64Array.of(1, 2), one, first, columnSettings), 'sizes-differ'],
    ['cycles', () => toolWearColumns(one, one, Uint32Array.of(0, 0), columnSettings), 'sizes-differ'],
    ['cycles.0', () => toolWearColumns(one, one, Uint32Array.of(2), columnSettings), 'out-of-range'],
    ['hits.0', () => toolWearColumns(Float64Array.of(-1), one, first, columnSettings), 'out-of-range'],
    ['hits.0', () => toolWearColumns(Float64Array.of(Number.NaN), one, first, columnSettings), 'not-finite'],
    [
      'hits.0',
      () => toolWearColumns(Float64Array.of(1e300), one, first, { ...columnSettings, slope: 1e300 }),
      'out-of-range',
    ],
    [
      'values.0',
      () => toolWearColumns(one, Float64Array.of(Number.NaN), first, columnSettings),
      'not-finite',
    ],
    [
      'columns.centerLines',
      () =>
        toolWearColumns(
          Float64Array.of(1, 2),
          Float64Array.of(1, 2),
          Uint32Array.of(0, 0),
          columnSettings,
          toolWearColumns(one, one, first, columnSettings),
        ),
      'sizes-differ',
    ],
  ])('names %s', (argument, call, code) => {
    expect(call).toThrow(expect.objectContaining({ argument, code }));
  });

  test('columns that are passed in are filled', () => {
    const columns = toolWearColumns(one, one, first, columnSettings);
    const again = toolWearColumns(one, one, Uint32Array.of(1), columnSettings, columns);
    expect(again.centerLines).toBe(columns.centerLines);
    expect(columns.centerLines[0]).toBeCloseTo(6.01, 12);
  });
});
