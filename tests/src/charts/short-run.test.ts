/** Charts of mixed models: the three ways to the same point, what rescaling and shifting do, and refusals. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  deviationFromNominalChart,
  deviationFromNominalColumns,
  deviationFromNominalIndividualsChart,
  deviationFromNominalIndividualsColumns,
  deviationFromNominalIndividualsNext,
  deviationFromNominalIndividualsStart,
  deviationFromNominalPoint,
  individualsAndMovingRangeChart,
  meanAndRangeChart,
  type PartSample,
  type PartValue,
  type ShortRunCharts,
  type ShortRunColumns,
  standardisedChart,
  standardisedColumns,
  standardisedIndividualsChart,
  standardisedIndividualsColumns,
  standardisedIndividualsNext,
  standardisedIndividualsStart,
  standardisedPoint,
} from '../../../src/index.ts';
import { reading } from '../generators.ts';
import { available, refusal } from './count-samplers.ts';

const names = ['A', 'B', 'C'];
const part = fc.constantFrom(...names);
const nominalModels = [10, 25, 4].map((nominal, index) => ({ part: names[index]!, nominal }));
const standardisedModels = [10, 25, 4].map((target, index) => ({
  part: names[index]!,
  target,
  averageRange: 0.25 * (index + 1),
}));
const individualsModels = [10, 25, 4].map((mean, index) => ({
  part: names[index]!,
  mean,
  standardDeviation: 0.25 * (index + 1),
}));
const standard = { mean: 0.1, withinSubgroupStandardDeviation: 0.5, meanStandardDeviation: null };
const subgroups: fc.Arbitrary<PartSample[]> = fc.array(
  fc.record({ part, readings: fc.array(reading, { minLength: 3, maxLength: 3 }) }),
  { minLength: 1, maxLength: 20 },
);
const singles: fc.Arbitrary<PartValue[]> = fc.array(fc.record({ part, value: reading }), {
  minLength: 1,
  maxLength: 20,
});

const flag = (point: ShortRunCharts['location']['points'][number]) =>
  point.beyondLimits ? (point.value! > point.limits!.centerLine ? 1 : 2) : 0;

function expectColumns(charts: ShortRunCharts, columns: ShortRunColumns) {
  charts.location.points.forEach((point, index) => {
    expect(columns.location[index]).toBe(point.value);
    expect(columns.locationBeyondLimits[index]).toBe(flag(point));
    const spread = charts.spread.points[index]!;
    expect(columns.spread[index]).toBe(spread.value ?? 0);
    expect(columns.spreadBeyondLimits[index]).toBe(flag(spread));
  });
}

const pieces = {
  deviation: {
    chart: (data: PartSample[], multiple = 3) =>
      deviationFromNominalChart(data, { models: nominalModels, standard, multiple }),
    point: (one: PartSample) =>
      deviationFromNominalPoint(one, { models: nominalModels, standard, multiple: 2 }),
    columns: (data: Float64Array, parts: Uint16Array, columns?: ShortRunColumns) =>
      deviationFromNominalColumns(
        data,
        parts,
        { models: nominalModels, standard, multiple: 2, subgroupSize: 3 },
        columns,
      ),
  },
  standardised: {
    chart: (data: PartSample[], multiple = 3) =>
      standardisedChart(data, { models: standardisedModels, subgroupSize: 3, multiple }),
    point: (one: PartSample) =>
      standardisedPoint(one, { models: standardisedModels, subgroupSize: 3, multiple: 2 }),
    columns: (data: Float64Array, parts: Uint16Array, columns?: ShortRunColumns) =>
      standardisedColumns(data, parts, { models: standardisedModels, subgroupSize: 3, multiple: 2 }, columns),
  },
};

describe.each(Object.entries(pieces))('%s charts of subgroups', (_, { chart, point, columns }) => {
  test('chart, live and columns give the same points', () => {
    fc.assert(
      fc.property(subgroups, (data) => {
        const charts = available(chart(data, 2));
        charts.location.points.forEach((location, index) => {
          expect(point(data[index]!)).toEqual({
            part: data[index]!.part,
            location: { ...location, index: 0 },
            spread: { ...charts.spread.points[index]!, index: 0 },
          });
        });
        expectColumns(
          charts,
          columns(
            Float64Array.from(data.flatMap(({ readings }) => readings as number[])),
            Uint16Array.from(data, (one) => names.indexOf(one.part)),
          ),
        );
        expect(charts.parts).toEqual(data.map((one) => one.part));
        expect(charts.basis.samplesByPart).toEqual(
          names.map((name) => ({ part: name, samples: data.filter((one) => one.part === name).length })),
        );
      }),
      { numRuns: 40 },
    );
  });

  test('missing readings and subgroups', () => {
    const charts = available(
      chart([
        { part: 'A', readings: [10, null, 11] },
        { part: 'B', readings: [null] },
        { part: 'C', readings: [4] },
      ]),
    );
    expect(charts.location.points.map(({ value, size }) => [value === null, size])).toEqual([
      [false, 2],
      [true, 0],
      [false, 1],
    ]);
    expect(charts.spread.points.map(({ value }) => value === null)).toEqual([false, true, true]);
  });

  test('refusals', () => {
    const one = { part: 'A', readings: [10, 11, 12] };
    expect(refusal(() => chart([]))).toBe('empty samples');
    expect(refusal(() => chart([one, { ...one, part: 'D' }]))).toBe('unknown-name samples.1.part');
    expect(refusal(() => chart([{ ...one, readings: [10, Number.NaN] }]))).toBe(
      'not-finite samples.0.readings.1',
    );
    expect(refusal(() => chart([{ ...one, readings: [1e141] }]))).toBe('out-of-range samples.0.readings.0');
    expect(refusal(() => chart([one], 0))).toBe('out-of-range options.multiple');
    expect(refusal(() => point({ ...one, part: 'D' }))).toBe('unknown-name sample.part');
    expect(refusal(() => point({ ...one, readings: [Infinity] }))).toBe('not-finite sample.readings.0');
    const three = Float64Array.of(1, 2, 3);
    expect(refusal(() => columns(three, Uint16Array.of(0, 1)))).toBe('sizes-differ readings');
    expect(refusal(() => columns(three, Uint16Array.of(3)))).toBe('out-of-range parts.0');
    expect(refusal(() => columns(three.with(1, Number.NaN), Uint16Array.of(2)))).toBe(
      'not-finite readings.1',
    );
    const filled = columns(three, Uint16Array.of(2));
    expect(columns(three, Uint16Array.of(2), filled)).toBe(filled);
    expect(refusal(() => columns(new Float64Array(6), Uint16Array.of(2, 2), filled))).toBe(
      'sizes-differ columns.location',
    );
  });
});

const singlePieces = {
  deviation: {
    chart: (data: PartValue[], multiple = 3) =>
      deviationFromNominalIndividualsChart(data, { models: nominalModels, standard, multiple }),
    start: deviationFromNominalIndividualsStart,
    next: (state: ReturnType<typeof deviationFromNominalIndividualsStart>, one: PartValue) =>
      deviationFromNominalIndividualsNext(state, one, { models: nominalModels, standard, multiple: 2 }),
    columns: (data: Float64Array, parts: Uint16Array, columns?: ShortRunColumns) =>
      deviationFromNominalIndividualsColumns(
        data,
        parts,
        { models: nominalModels, standard, multiple: 2 },
        columns,
      ),
  },
  standardised: {
    chart: (data: PartValue[], multiple = 3) =>
      standardisedIndividualsChart(data, { models: individualsModels, multiple }),
    start: standardisedIndividualsStart,
    next: (state: ReturnType<typeof standardisedIndividualsStart>, one: PartValue) =>
      standardisedIndividualsNext(state, one, { models: individualsModels, multiple: 2 }),
    columns: (data: Float64Array, parts: Uint16Array, columns?: ShortRunColumns) =>
      standardisedIndividualsColumns(data, parts, { models: individualsModels, multiple: 2 }, columns),
  },
};

describe.each(Object.entries(singlePieces))(
  '%s charts of single values',
  (_, { chart, start, next, columns }) => {
    test('chart, live and columns give the same points', () => {
      fc.assert(
        fc.property(singles, (data) => {
          const charts = available(chart(data, 2));
          let state = start();
          charts.location.points.forEach((location, index) => {
            const step = next(state, data[index]!);
            state = step.state;
            expect(step.point).toEqual({
              part: data[index]!.part,
              location,
              spread: charts.spread.points[index],
            });
          });
          expectColumns(
            charts,
            columns(
              Float64Array.from(data, ({ value }) => value!),
              Uint16Array.from(data, (one) => names.indexOf(one.part)),
            ),
          );
        }),
        { numRuns: 40 },
      );
    });

    test('no moving range across a missing value, one across a change of model', () => {
      const data = [
        { part: 'A', value: 10.5 },
        { part: 'B', value: 25.5 },
        { part: 'B', value: null },
        { part: 'C', value: 4 },
      ];
      const charts = available(chart(data));
      expect(charts.spread.points.map(({ value }) => value !== null)).toEqual([false, true, false, false]);
      expect(charts.spread.points.map(({ size }) => size)).toEqual([0, 2, 0, 0]);
      expect(charts.location.points[2]).toEqual({
        index: 2,
        value: null,
        size: 0,
        limits: null,
        beyondLimits: false,
      });
      const { state, point } = next({ index: 2, previous: 0.5 }, data[2]!);
      expect(state).toEqual({ index: 3, previous: null });
      expect(point.spread.value).toBeNull();
      expect(point.spread.size).toBe(0);
    });

    test('refusals', () => {
      expect(refusal(() => chart([]))).toBe('empty samples');
      expect(refusal(() => chart([{ part: 'D', value: 1 }]))).toBe('unknown-name samples.0.part');
      expect(refusal(() => chart([{ part: 'A', value: Infinity }]))).toBe('not-finite samples.0.value');
      expect(refusal(() => chart([{ part: 'A', value: 1 }], -1))).toBe('out-of-range options.multiple');
      expect(refusal(() => next({ index: -1, previous: null }, { part: 'A', value: 1 }))).toBe(
        'out-of-range state.index',
      );
      expect(refusal(() => next({ index: 1, previous: Number.NaN }, { part: 'A', value: 1 }))).toBe(
        'not-finite state.previous',
      );
      expect(refusal(() => next(start(), { part: 'A', value: Number.NaN }))).toBe('not-finite sample.value');
      expect(refusal(() => columns(Float64Array.of(1), Uint16Array.of(0, 0)))).toBe('sizes-differ values');
      expect(refusal(() => columns(Float64Array.of(1e141), Uint16Array.of(0)))).toBe('out-of-range values.0');
      expect(refusal(() => columns(Float64Array.of(1), Uint16Array.of(7)))).toBe('out-of-range parts.0');
    });
  },
);

describe('what the charts say', () => {
  test('of one part model with nominal 0, the deviation chart is the mean and range chart', () => {
    fc.assert(
      fc.property(subgroups, (data) => {
        const one = data.map(({ readings }) => ({ part: 'A', readings }));
        const ours = deviationFromNominalChart(one, { models: [{ part: 'A', nominal: 0 }] });
        const plain = meanAndRangeChart(data.map(({ readings }) => readings));
        expect(ours.available).toBe(plain.available);
        if (!ours.available || !plain.available) return;
        expect(ours.location.points).toEqual(plain.location.points);
        expect(ours.spread.points).toEqual(plain.spread.points);
        expect(ours.basis).toMatchObject({
          standard: plain.standard,
          method: 'range',
          subgroupsUsed: data.length,
        });
      }),
      { numRuns: 30 },
    );
  });

  test('of one part model with nominal 0, single values are the individuals chart', () => {
    const values = [10.1, 10.4, null, 9.9, 10.2, 10.3];
    const ours = available(
      deviationFromNominalIndividualsChart(
        values.map((value) => ({ part: 'A', value })),
        { models: [{ part: 'A', nominal: 0 }] },
      ),
    );
    const plain = available(individualsAndMovingRangeChart(values));
    expect(ours.location.points).toEqual(plain.location.points);
    expect(ours.spread.points).toEqual(plain.spread.points);
    expect(ours.basis).toMatchObject({ method: 'moving-range', readingsUsed: 5 });
    expect([ours.location.statistic, ours.spread.statistic]).toEqual([
      'deviation from nominal',
      'moving range',
    ]);
  });

  test('standardised values do not change with the unit of a part model', () => {
    const data = [
      { part: 'A', readings: [10.5, 10.25, 9.75] },
      { part: 'B', readings: [27, 24, 25] },
    ];
    const micrometres = data.map((one) => ({ ...one, readings: one.readings.map((value) => value * 1024) }));
    const models = standardisedModels.map((model) => ({
      part: model.part,
      target: model.target * 1024,
      averageRange: model.averageRange * 1024,
    }));
    expect(available(standardisedChart(micrometres, { models, subgroupSize: 3 }))).toEqual(
      available(standardisedChart(data, { models: standardisedModels, subgroupSize: 3 })),
    );
    const charts = available(standardisedChart(data, { models: standardisedModels, subgroupSize: 3 }));
    expect([charts.location.statistic, charts.spread.statistic]).toEqual([
      'standardised mean',
      'standardised range',
    ]);
    expect(charts.basis).toMatchObject({ method: 'given', readingsUsed: 0 });
    // ISO 7870-2 factor table, n = 3: A2 = 1.023, D4 = 2.575.
    expect(charts.location.points[0]!.limits).toMatchObject({
      centerLine: 0,
      upperControlLimit: expect.closeTo(1.023, 3),
    });
    expect(charts.spread.points[0]!.limits).toMatchObject({
      lowerControlLimit: null,
      centerLine: expect.closeTo(1, 12),
      upperControlLimit: expect.closeTo(2.575, 3),
    });
  });

  test('a smaller subgroup keeps its values and gets limits of its own', () => {
    const { location, spread } = standardisedPoint(
      { part: 'A', readings: [10.5, 10.25] },
      { models: standardisedModels, subgroupSize: 3 },
    );
    expect([location.value, spread.value]).toEqual([1.5, 1]);
    // d2(2)/d2(3) = 1.128/1.693, 3/(1.693 √2); ISO 7870-2 factor table.
    expect(spread.limits!.centerLine).toBeCloseTo(1.128 / 1.693, 3);
    expect(location.limits!.upperControlLimit).toBeCloseTo(3 / (1.693 * Math.SQRT2), 3);
  });

  test('Z and W: the published factors for two values', () => {
    const charts = available(
      standardisedIndividualsChart(
        [
          { part: 'A', value: 10 },
          { part: 'C', value: 4.75 },
        ],
        { models: individualsModels },
      ),
    );
    expect(charts.location.points.map(({ value }) => value)).toEqual([0, 1]);
    expect(charts.location.points[0]!.limits).toEqual({
      centerLine: 0,
      lowerControlLimit: -3,
      upperControlLimit: 3,
      standardDeviation: 1,
    });
    // D4 d2 = 3.267 · 1.128 (ISO 7870-2).
    expect(charts.spread.points[1]!.limits).toMatchObject({
      centerLine: expect.closeTo(1.128, 3),
      upperControlLimit: expect.closeTo(3.686, 3),
      lowerControlLimit: null,
    });
    expect([charts.location.statistic, charts.spread.statistic]).toEqual([
      'standardised value',
      'moving range',
    ]);
  });

  test('a constant baseline has no limits', () => {
    const flat = [
      { part: 'A', readings: [10, 10] },
      { part: 'A', readings: [10, 10] },
    ];
    expect(deviationFromNominalChart(flat, { models: nominalModels })).toMatchObject({
      available: false,
      reason: 'no-variation',
    });
    expect(
      deviationFromNominalIndividualsChart([{ part: 'A', value: 1 }], { models: nominalModels }),
    ).toMatchObject({
      available: false,
      reason: 'too-few-values',
    });
    expect(
      available(
        deviationFromNominalChart([{ part: 'A', readings: [10, 11] }], {
          models: nominalModels,
          method: 'pooled',
        }),
      ).basis.method,
    ).toBe('pooled');
  });

  test('wrong models are named', () => {
    const one = [{ part: 'A', readings: [1, 2] }];
    expect(refusal(() => deviationFromNominalChart(one, { models: [] }))).toBe('empty options.models');
    expect(
      refusal(() => deviationFromNominalChart(one, { models: [nominalModels[0]!, nominalModels[0]!] })),
    ).toBe('out-of-range options.models.1.part');
    expect(
      refusal(() => deviationFromNominalChart(one, { models: [{ part: 'A', nominal: Number.NaN }] })),
    ).toBe('not-finite options.models.0.nominal');
    const model = { part: 'A', target: 1, averageRange: 0 };
    expect(refusal(() => standardisedChart(one, { models: [model], subgroupSize: 2 }))).toBe(
      'out-of-range options.models.0.averageRange',
    );
    expect(
      refusal(() => standardisedChart(one, { models: [{ ...model, target: 1e141 }], subgroupSize: 2 })),
    ).toBe('out-of-range options.models.0.target');
    expect(refusal(() => standardisedChart(one, { models: standardisedModels, subgroupSize: 1 }))).toBe(
      'out-of-range options.subgroupSize',
    );
    expect(refusal(() => standardisedPoint(one[0]!, { models: standardisedModels, subgroupSize: 101 }))).toBe(
      'out-of-range settings.subgroupSize',
    );
    const single = { part: 'A', mean: 1, standardDeviation: 1e-141 };
    expect(refusal(() => standardisedIndividualsChart([{ part: 'A', value: 1 }], { models: [single] }))).toBe(
      'out-of-range options.models.0.standardDeviation',
    );
    expect(
      refusal(() =>
        standardisedIndividualsNext(
          standardisedIndividualsStart(),
          { part: 'A', value: 1 },
          { models: [{ ...single, mean: Infinity }] },
        ),
      ),
    ).toBe('not-finite settings.models.0.mean');
    const settings = { models: nominalModels, standard };
    expect(
      refusal(() =>
        deviationFromNominalColumns(new Float64Array(1), new Uint16Array(1), {
          ...settings,
          subgroupSize: 1,
        }),
      ),
    ).toBe('out-of-range settings.subgroupSize');
    expect(refusal(() => deviationFromNominalPoint(one[0]!, { ...settings, multiple: 2000 }))).toBe(
      'out-of-range settings.multiple',
    );
    expect(
      refusal(() =>
        deviationFromNominalIndividualsNext(
          deviationFromNominalIndividualsStart(),
          { part: 'A', value: 1 },
          { ...settings, multiple: 0 },
        ),
      ),
    ).toBe('out-of-range settings.multiple');
    expect(
      refusal(() =>
        deviationFromNominalColumns(new Float64Array(2), new Uint16Array(1), {
          ...settings,
          subgroupSize: 2,
          multiple: 0,
        }),
      ),
    ).toBe('out-of-range settings.multiple');
  });
});
