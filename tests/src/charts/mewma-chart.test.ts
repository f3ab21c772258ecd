import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type MewmaSettings,
  type MultivariateStandard,
  mewmaAverageRunLength,
  mewmaChart,
  mewmaColumns,
  mewmaLimit,
  mewmaNext,
  mewmaStart,
  tSquaredPoint,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { reading } from '../generators.ts';

const standard: MultivariateStandard = {
  mean: [10, 10],
  covariance: [
    [0.09, 0.06],
    [0.06, 0.16],
  ],
  samplesUsed: null,
  subgroupSize: 1,
  method: 'given',
};

function available<T>(outcome: { available: boolean } & T) {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<typeof outcome, { available: true }>;
}

const rows = fc.array(fc.array(reading, { minLength: 2, maxLength: 2 }), { minLength: 1, maxLength: 80 });

describe('mewmaChart', () => {
  test('the three routes agree to the last bit', () => {
    const options = fc.record({
      smoothing: fc.constantFrom(0.05, 0.3, 0.9, 1),
      limits: fc.constantFrom('time-varying' as const, 'asymptotic' as const),
      size: fc.constantFrom(1, 4),
      upperControlLimit: fc.constantFrom(2, 8.64),
    });
    fc.assert(
      fc.property(rows, options, (observations, others) => {
        const settings: MewmaSettings = { standard, names: ['width', 'runout'], ...others };
        const chart = available(mewmaChart(Object.freeze(observations), settings));
        const columns = available(mewmaColumns(Float64Array.from(observations.flat()), settings));
        let state = mewmaStart(settings);
        chart.points.forEach((point, index) => {
          const live = available(
            mewmaNext(JSON.parse(JSON.stringify(state)), observations[index]!, settings),
          );
          state = live.state;
          expect(live.point).toMatchObject(point);
          expect(live.point.vector).toEqual(chart.vectors[index]);
          expect(columns.values[index]).toBe(point.value);
          expect(columns.beyondLimits[index]).toBe(point.beyondLimits ? 1 : 0);
        });
        expect(state.index).toBe(observations.length);
        expect(chart.contributions).toHaveLength(chart.signals.length);
        for (const { tSquared, largest } of chart.contributions) {
          expect(tSquared).toBeGreaterThan(others.upperControlLimit);
          expect(['width', 'runout']).toContain(largest);
        }
      }),
      { numRuns: 40 },
    );
  });

  test('with λ = 1 it is the T² chart of a known standard', () => {
    fc.assert(
      fc.property(rows, (observations) => {
        const chart = available(mewmaChart(observations, { standard, smoothing: 1, upperControlLimit: 10 }));
        chart.points.forEach(({ value }, index) => {
          const alone = available(tSquaredPoint(observations[index]!, { standard }));
          expect(value).toBeCloseTo(alone.value!, 8);
        });
      }),
      { numRuns: 20 },
    );
  });

  test('both kinds of limits agree once the start has died out, to the last bit', () => {
    const observations = Array.from({ length: 200 }, (_, i) => [10 + 0.2 * Math.cos(i * i), 10]);
    const shared = { standard, smoothing: 0.2, upperControlLimit: 10 };
    const exact = available(mewmaChart(observations, shared)).points;
    const settled = available(mewmaChart(observations, { ...shared, limits: 'asymptotic' })).points;
    expect(exact[0]!.value! / settled[0]!.value!).toBeCloseTo(1 / (1 - 0.8 ** 2), 10);
    expect(exact[199]!.value).toBe(settled[199]!.value);
    expect(exact[5]!.value).toBeGreaterThan(settled[5]!.value!);
  });

  test('what the chart is drawn from', () => {
    const chart = available(mewmaChart([[10, 10]], { standard, upperControlLimit: 8 }));
    expect(chart.statistic).toBe('multivariate exponentially weighted moving average');
    expect(chart.basis).toEqual({
      standard,
      smoothing: 0.1,
      limits: 'time-varying',
      size: 1,
      names: ['characteristic 1', 'characteristic 2'],
    });
    // Median of chi-square with 2 degrees of freedom: 2 ln 2.
    expect(chart.points[0]!.limits!.centerLine).toBeCloseTo(2 * Math.LN2, 9);
    expect(chart.points[0]!.limits).toMatchObject({ lowerControlLimit: null, upperControlLimit: 8 });
  });

  test('a singular covariance is named in all routes', () => {
    const settings = {
      standard: {
        ...standard,
        covariance: [
          [1, 1],
          [1, 1],
        ],
      },
      upperControlLimit: 8,
    };
    const expected = { available: false, reason: 'singular-covariance' };
    expect(mewmaChart([[1, 2]], settings)).toMatchObject(expected);
    expect(mewmaColumns(Float64Array.of(1, 2), settings)).toMatchObject(expected);
    expect(mewmaNext(mewmaStart(settings), [1, 2], settings)).toMatchObject(expected);
  });

  test.each([
    [[], {}, 'empty', 'observations'],
    [[[1]], {}, 'sizes-differ', 'observations.0'],
    [[[1, Infinity]], {}, 'not-finite', 'observations.0.1'],
    [[[1, 2]], { smoothing: 0 }, 'out-of-range', 'settings.smoothing'],
    [[[1, 2]], { smoothing: 1.1 }, 'out-of-range', 'settings.smoothing'],
    [[[1, 2]], { upperControlLimit: 0 }, 'out-of-range', 'settings.upperControlLimit'],
    [[[1, 2]], { limits: 'x' }, 'unknown-name', 'settings.limits'],
    [[[1, 2]], { size: 0 }, 'out-of-range', 'settings.size'],
    [[[1, 2]], { names: [] }, 'sizes-differ', 'settings.names'],
    [
      [
        [1, 2],
        [1e250, 2],
      ],
      {},
      'out-of-range',
      'observations.1',
    ],
  ])('case %#: %j with %j is refused: %s at %s', (observations, others, code, argument) => {
    const settings = { standard, upperControlLimit: 8, ...others } as MewmaSettings;
    expect(() => mewmaChart(observations, settings)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });

  test.each([
    [{ index: -1, vector: [0, 0] }, 'out-of-range', 'state.index'],
    [{ index: 0, vector: [0] }, 'sizes-differ', 'state.vector'],
    [{ index: 0, vector: [0, Number.NaN] }, 'not-finite', 'state.vector.1'],
  ])('state %j is refused: %s at %s', (state, code, argument) => {
    expect(() => mewmaNext(state, [10, 10], { standard, upperControlLimit: 8 })).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });

  test('columns of the wrong length and rows too far away are refused', () => {
    const settings = { standard, upperControlLimit: 8 };
    const columns = { values: new Float64Array(1), beyondLimits: new Uint8Array(2) };
    expect(() => mewmaColumns(Float64Array.of(1, 2, 3, 4), settings, columns)).toThrowError(
      expect.objectContaining({ code: 'sizes-differ', argument: 'columns.values' }),
    );
    expect(() => mewmaColumns(Float64Array.of(10, 10, 1e250, 4), settings)).toThrowError(
      expect.objectContaining({ code: 'out-of-range', argument: 'observations.2' }),
    );
    expect(() => mewmaColumns(Float64Array.of(10, 10, 1, Number.NaN), settings)).toThrowError(
      expect.objectContaining({ code: 'not-finite', argument: 'observations.3' }),
    );
  });
});

describe('average run length', () => {
  // Limits for 200 points, as tabled by Prabhu and Runger, Journal of Quality Technology 29(1), 1997 (cited from memory), to
  // two decimals: the last one moves the run length by less than 0.5 %.
  test.each([
    [2, 0.05, 7.35],
    [2, 0.1, 8.64],
    [2, 0.2, 9.65],
    [2, 0.3, 10.08],
    [2, 0.8, 10.58],
    [4, 0.1, 12.73],
    [10, 0.1, 22.67],
  ])('p = %d, λ = %d, limit %d: 200 points', (characteristics, smoothing, limit) => {
    const { averageRunLength } = available(mewmaAverageRunLength({ characteristics, smoothing }, limit));
    expect(averageRunLength / 200).toBeGreaterThan(0.995);
    expect(averageRunLength / 200).toBeLessThan(1.005);
    const found = available(mewmaLimit({ characteristics, smoothing, averageRunLength }));
    expect(found.upperControlLimit).toBeCloseTo(limit, 6);
  });

  test('one characteristic: the EWMA chart', () => {
    // Lucas and Saccucci, Technometrics 32(1), 1990: λ = 0.1 and 2.814 standard deviations give 500 points; λ = 0.25
    // and 2.998 too.
    for (const [smoothing, multiple] of [
      [0.1, 2.814],
      [0.25, 2.998],
    ] as const)
      expect(
        available(mewmaAverageRunLength({ characteristics: 1, smoothing }, multiple ** 2)).averageRunLength /
          500,
      ).toBeCloseTo(1, 2);
  });

  test('without memory: one over the tail of chi-square; little memory is close to it', () => {
    const alone = available(mewmaAverageRunLength({ characteristics: 2, smoothing: 1 }, 11)).averageRunLength;
    expect(alone).toBeCloseTo(Math.exp(5.5), 6);
    const nearly = available(
      mewmaAverageRunLength({ characteristics: 2, smoothing: 0.999 }, 11),
    ).averageRunLength;
    expect(nearly / alone).toBeCloseTo(1, 5);
  });

  test('rises with the limit and with memory', () => {
    const length = (smoothing: number, limit: number) =>
      available(mewmaAverageRunLength({ characteristics: 3, smoothing }, limit)).averageRunLength;
    const byLimit = [1e-6, 1, 4, 8, 12, 16].map((limit) => length(0.2, limit));
    expect(byLimit).toEqual(byLimit.toSorted((a, b) => a - b));
    expect(byLimit[0]).toBeGreaterThanOrEqual(1);
    const bySmoothing = [0.02, 0.1, 0.4, 1].map((smoothing) => length(smoothing, 12));
    expect(bySmoothing).toEqual(bySmoothing.toSorted((a, b) => b - a));
  });

  test('agrees with a simulation of the chart', () => {
    const design = { characteristics: 2, smoothing: 0.2 };
    const limit = 3.5;
    const expected = available(mewmaAverageRunLength(design, limit)).averageRunLength;
    const unit = {
      ...standard,
      mean: [0, 0],
      covariance: [
        [1, 0],
        [0, 1],
      ],
    };
    const random = randomSource(4);
    const data = Float64Array.from({ length: 200_000 }, () => random.normal());
    // One long series, begun anew at each signal: the columns of a run are cut where it ends.
    let runs = 0;
    let points = 0;
    for (let from = 0; from + 300 < data.length / 2; ) {
      const columns = available(
        mewmaColumns(data.subarray(2 * from, 2 * (from + 300)), {
          standard: unit,
          smoothing: 0.2,
          upperControlLimit: limit,
          limits: 'asymptotic',
        }),
      );
      const length = columns.beyondLimits.indexOf(1) + 1;
      if (length === 0) throw new Error('a run longer than 300 points');
      runs++;
      points += length;
      from += length;
    }
    // Run lengths scatter by about their mean: four standard errors.
    expect(Math.abs(points / runs - expected)).toBeLessThan((4 * expected) / Math.sqrt(runs));
    expect(runs).toBeGreaterThan(4000);
  });

  test('a limit that never signals is named', () => {
    expect(mewmaAverageRunLength({ characteristics: 1, smoothing: 0.05 }, 150)).toMatchObject({
      available: false,
      reason: 'not-reachable',
    });
  });

  test.each([
    [{ characteristics: 0, smoothing: 0.1 }, 8, 'out-of-range', 'design.characteristics'],
    [{ characteristics: 2, smoothing: 0.001 }, 8, 'out-of-range', 'design.smoothing'],
    [{ characteristics: 2, smoothing: 0.1 }, 0, 'out-of-range', 'upperControlLimit'],
    [{ characteristics: 2, smoothing: 0.1 }, 201, 'out-of-range', 'upperControlLimit'],
  ])('%j with %d is refused: %s at %s', (design, limit, code, argument) => {
    expect(() => mewmaAverageRunLength(design, limit)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });

  test('a wanted run length out of range is refused', () => {
    expect(() => mewmaLimit({ characteristics: 2, smoothing: 0.1, averageRunLength: 1 })).toThrowError(
      expect.objectContaining({ code: 'out-of-range', argument: 'design.averageRunLength' }),
    );
  });
});
