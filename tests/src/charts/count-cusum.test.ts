/** CUSUM charts of counts and their run lengths. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  binomialCusumChart,
  binomialCusumColumns,
  binomialCusumNext,
  binomialCusumStart,
  type CountCusumRunLengthOptions,
  type CountSample,
  countCusumRunLength,
  poissonCusumChart,
  poissonCusumColumns,
  poissonCusumNext,
  poissonCusumStart,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { available, poissonSampler, refusal } from './count-samplers.ts';

const upward = { inControl: 0.02, outOfControl: 0.05, decisionInterval: 2 };
const downward = { inControl: 0.05, outOfControl: 0.02, decisionInterval: 2, headStart: 1 };
const samples: fc.Arbitrary<CountSample[]> = fc.array(
  fc.record({ count: fc.nat({ max: 9 }), size: fc.integer({ min: 9, max: 200 }) }),
  { minLength: 1, maxLength: 40 },
);

const charts = [
  {
    name: 'binomial',
    chart: binomialCusumChart,
    start: binomialCusumStart,
    next: binomialCusumNext,
    columns: binomialCusumColumns,
    /** log of the ratio of two binomial probabilities, from the probabilities themselves. */
    weigh: (x: number, n: number, p0: number, p1: number) =>
      Math.log(p1 / p0) * x + Math.log((1 - p1) / (1 - p0)) * (n - x),
  },
  {
    name: 'poisson',
    chart: poissonCusumChart,
    start: poissonCusumStart,
    next: poissonCusumNext,
    columns: poissonCusumColumns,
    weigh: (x: number, a: number, u0: number, u1: number) => x * Math.log(u1 / u0) - a * (u1 - u0),
  },
] as const;

describe.each(charts)('$name CUSUM chart', ({ name, chart, start, next, columns, weigh }) => {
  test('adds the log-likelihood ratio and never falls below 0', () => {
    fc.assert(
      fc.property(samples, fc.constantFrom(upward, downward), (data, settings) => {
        const { points } = chart(data, settings);
        let sum = settings === downward ? 1 : 0;
        points.forEach(({ value, beyondLimits, limits, size }, index) => {
          const { count, size: n } = data[index]!;
          sum = Math.max(0, sum + weigh(count, n, settings.inControl, settings.outOfControl));
          expect(value).toBeCloseTo(sum, 10);
          expect(beyondLimits).toBe(value! > 2);
          expect(limits).toEqual({ centerLine: 0, lowerControlLimit: null, upperControlLimit: 2 });
          expect(size).toBe(n);
        });
      }),
      { numRuns: 40 },
    );
  });

  test('chart, live and columns give the same points', () => {
    fc.assert(
      fc.property(samples, fc.constantFrom(upward, downward), (data, settings) => {
        const { points, signals } = chart(data, settings);
        const filled = columns(
          Float64Array.from(data, ({ count }) => count),
          Float64Array.from(data, ({ size }) => size),
          settings,
        );
        let state = start(settings);
        points.forEach((expected, index) => {
          const step = next(state, data[index]!, settings);
          state = step.state;
          expect(step.point).toEqual(expected);
          expect(filled.values[index]).toBe(expected.value);
          expect(filled.beyondLimits[index]).toBe(expected.beyondLimits ? 1 : 0);
        });
        expect(signals).toEqual(points.flatMap(({ beyondLimits, index }) => (beyondLimits ? [index] : [])));
        expect(state.index).toBe(data.length);
      }),
      { numRuns: 40 },
    );
  });

  test('names direction, weights and reference value', () => {
    const { basis, statistic } = chart([], upward);
    expect(statistic).toBe('log-likelihood cumulative sum');
    expect(basis).toMatchObject({ distribution: name, direction: 'upward', headStart: 0, ...upward });
    expect(basis.weightPerEvent).toBeCloseTo(weigh(1, 1, 0.02, 0.05) - weigh(0, 1, 0.02, 0.05), 14);
    expect(basis.weightPerUnit).toBeCloseTo(weigh(0, 1, 0.02, 0.05), 14);
    // At the reference value the sum neither rises nor falls, and it lies between the two levels.
    expect(basis.weightPerEvent * basis.referenceValue + basis.weightPerUnit).toBeCloseTo(0, 14);
    expect(basis.referenceValue).toBeGreaterThan(0.02);
    expect(basis.referenceValue).toBeLessThan(0.05);
    expect(chart([], downward).basis.direction).toBe('downward');
  });

  test('a missing sample repeats the sum, signals nothing and keeps the beginning of the change', () => {
    const data = [{ count: 0, size: 100 }, { count: 9, size: 50 }, null, { count: 9, size: 50 }];
    const { points, signals } = chart(data, upward);
    expect(points[2]).toMatchObject({ value: points[1]!.value, size: 0, beyondLimits: false, since: 1 });
    expect(signals).toEqual([1, 3]);
    expect(points.map(({ since }) => since)).toEqual([0, 1, 1, 1]);
    const { state } = next({ index: 4, sum: 3, since: 1 }, null, upward);
    expect(state).toEqual({ index: 5, sum: 3, since: 1 });
  });

  test('a head start is where the sum begins, anew after a signal too', () => {
    expect(start(downward)).toEqual({ index: 0, sum: 1, since: 0 });
    expect(start(upward)).toEqual({ index: 0, sum: 0, since: 0 });
  });

  test('refusals', () => {
    expect(refusal(() => chart([], { ...upward, inControl: 0 }))).toBe('out-of-range options.inControl');
    expect(refusal(() => chart([], { ...upward, outOfControl: 2e12 }))).toBe(
      'out-of-range options.outOfControl',
    );
    expect(refusal(() => chart([], { ...upward, outOfControl: 0.02 }))).toBe(
      'out-of-range options.outOfControl',
    );
    expect(refusal(() => chart([], { ...upward, decisionInterval: 0 }))).toBe(
      'out-of-range options.decisionInterval',
    );
    expect(refusal(() => chart([], { ...upward, decisionInterval: 2e6 }))).toBe(
      'out-of-range options.decisionInterval',
    );
    expect(refusal(() => chart([], { ...upward, headStart: 2.1 }))).toBe('out-of-range options.headStart');
    expect(refusal(() => chart([{ count: -1, size: 1 }], upward))).toBe('out-of-range samples.0.count');
    expect(refusal(() => start({ ...upward, headStart: -1 }))).toBe('out-of-range settings.headStart');
    const state = start(upward);
    expect(refusal(() => next({ ...state, sum: -1 }, null, upward))).toBe('out-of-range state.sum');
    expect(refusal(() => next({ ...state, index: 0.5 }, null, upward))).toBe('not-an-integer state.index');
    expect(refusal(() => next({ ...state, since: 1 }, null, upward))).toBe('out-of-range state.since');
    expect(refusal(() => next(state, { count: 1, size: 0 }, upward))).toBe('out-of-range sample.size');
    expect(refusal(() => next(state, null, { ...upward, inControl: -1 }))).toBe(
      'out-of-range settings.inControl',
    );
    const one = Float64Array.of(1);
    expect(refusal(() => columns(one, Float64Array.of(1, 1), upward))).toBe('sizes-differ sizes');
    expect(refusal(() => columns(Float64Array.of(0.5), one, upward))).toBe('not-an-integer counts.0');
    expect(refusal(() => columns(one, Float64Array.of(0), upward))).toBe('out-of-range sizes.0');
    const filled = columns(one, one, upward);
    expect(columns(one, one, upward, filled)).toBe(filled);
    expect(refusal(() => columns(Float64Array.of(1, 1), Float64Array.of(1, 1), upward, filled))).toBe(
      'sizes-differ columns.values',
    );
  });
});

test('a binomial sample has no more nonconforming parts than parts, a Poisson one may', () => {
  const [counts, sizes] = [Float64Array.of(3), Float64Array.of(2)];
  expect(refusal(() => binomialCusumColumns(counts, sizes, upward))).toBe('out-of-range counts.0');
  expect(poissonCusumColumns(counts, sizes, upward).values[0]).toBeGreaterThan(2);
  expect(refusal(() => binomialCusumColumns(counts, Float64Array.of(3.5), upward))).toBe(
    'not-an-integer sizes.0',
  );
  expect(refusal(() => binomialCusumChart([], { ...upward, outOfControl: 1 }))).toBe(
    'out-of-range options.outOfControl',
  );
  expect(poissonCusumChart([], { ...upward, outOfControl: 1 }).basis.outOfControl).toBe(1);
});

describe('average run length of a CUSUM of counts', () => {
  const poisson = {
    distribution: 'poisson',
    size: 1,
    referenceValue: { numerator: 3, denominator: 1 },
  } as const;
  const slow = {
    distribution: 'poisson',
    size: 2,
    referenceValue: { numerator: 14, denominator: 5 },
  } as const;
  const binomial = {
    distribution: 'binomial',
    size: 310,
    referenceValue: { numerator: 9, denominator: 5 },
  } as const;
  // The chain built sample by sample from scipy 1.17 pmf, solved by numpy 2.4 (Brook and Evans 1972).
  test.each<[number, CountCusumRunLengthOptions]>([
    [412.4714109148745, { ...poisson, level: 2, decisionInterval: 5 }],
    [6.190406099648213, { ...poisson, level: 4, decisionInterval: 5, direction: 'upward' }],
    [3.959189376500224, { ...poisson, level: 4, decisionInterval: 5, headStart: 3 }],
    [1427.517986493126, { ...slow, level: 2, decisionInterval: 7.4, direction: 'downward' }],
    [9.648319442863857, { ...slow, level: 1, decisionInterval: 7.4, direction: 'downward' }],
    [1840.2056279309188, { ...binomial, level: 0.003, decisionInterval: 4.6 }],
    [3.7904890152965027, { ...binomial, level: 0.01, decisionInterval: 4.6, headStart: 1.2 }],
    [
      7879.789788464628,
      {
        distribution: 'binomial',
        size: 20,
        level: 0.3,
        referenceValue: { numerator: 4, denominator: 1 },
        decisionInterval: 6,
        direction: 'downward',
      },
    ],
  ])('%f', (expected, options) => {
    const found = available(countCusumRunLength(options));
    // The largest is the sum of 8e3 probabilities near 1: 1e-11 is what doubles leave.
    expect(found.averageRunLength / expected).toBeCloseTo(1, 10);
    expect(found.method).toBe('exact Markov chain');
    expect(found.states).toBe(
      Math.floor(options.decisionInterval * options.referenceValue.denominator + 1e-9) + 1,
    );
  });

  test('agrees with charts that run (fixed seed, 4 standard errors)', () => {
    // k = 3 and h = 5 events, as a log-likelihood chart: any weight of one event will do.
    const source = randomSource(8);
    const draw = poissonSampler(2);
    const lengths: number[] = [];
    for (let run = 0; run < 800; run++) {
      let sum = 0;
      let length = 0;
      while (sum <= 5) {
        sum = Math.max(0, sum + draw(source.uniform()) - 3);
        length++;
      }
      lengths.push(length);
    }
    const mean = lengths.reduce((total, one) => total + one, 0) / 800;
    expect(Math.abs(mean - 412.47)).toBeLessThan((4 * 412.47) / Math.sqrt(800));
  });

  test('the chain is the chart: one step from zero', () => {
    // With h below one event and k = 1, every count of 2 or more signals: the run length is 1/P(X ≥ 2).
    const one = available(
      countCusumRunLength({
        distribution: 'poisson',
        size: 1,
        level: 0.5,
        referenceValue: { numerator: 1, denominator: 1 },
        decisionInterval: 0.5,
      }),
    );
    expect(one.averageRunLength).toBeCloseTo(1 / (1 - 1.5 * Math.exp(-0.5)), 10);
  });

  test('certain and impossible counts', () => {
    const sure = {
      distribution: 'binomial',
      size: 4,
      referenceValue: { numerator: 3, denominator: 1 },
      decisionInterval: 2,
    } as const;
    // Every part bad: 4 − 3 = 1 a sample, beyond 2 at the third.
    expect(available(countCusumRunLength({ ...sure, level: 1 })).averageRunLength).toBeCloseTo(3, 12);
    expect(countCusumRunLength({ ...sure, level: 0 })).toMatchObject({
      available: false,
      reason: 'not-reachable',
    });
    // Never a bad part: 3 a sample downward, beyond 2 at once.
    expect(
      available(countCusumRunLength({ ...sure, level: 0, direction: 'downward' })).averageRunLength,
    ).toBe(1);
  });

  test('rarer events, longer runs', () => {
    const at = (level: number) =>
      available(countCusumRunLength({ ...poisson, level, decisionInterval: 5 })).averageRunLength;
    const lengths = [6, 4, 3, 2.5, 2, 1.5].map(at);
    expect([...lengths].sort((a, b) => a - b)).toEqual(lengths);
  });

  test('refusals', () => {
    const good = { ...poisson, level: 2, decisionInterval: 5 };
    const refused = (change: object) => refusal(() => countCusumRunLength({ ...good, ...change }));
    expect(refused({ distribution: 'normal' })).toBe('unknown-name options.distribution');
    expect(refused({ direction: 'both' })).toBe('unknown-name options.direction');
    expect(refused({ size: 0 })).toBe('out-of-range options.size');
    expect(refused({ distribution: 'binomial', size: 1.5, level: 0.1 })).toBe('not-an-integer options.size');
    expect(refused({ distribution: 'binomial', level: 1.1 })).toBe('out-of-range options.level');
    expect(refused({ level: 2e6 })).toBe('out-of-range options.level');
    expect(refused({ referenceValue: { numerator: 0, denominator: 1 } })).toBe(
      'out-of-range options.referenceValue.numerator',
    );
    expect(refused({ referenceValue: { numerator: 1, denominator: 101 } })).toBe(
      'out-of-range options.referenceValue.denominator',
    );
    expect(refused({ decisionInterval: 301 })).toBe('out-of-range options.decisionInterval');
    expect(refused({ decisionInterval: 0 })).toBe('out-of-range options.decisionInterval');
    expect(refused({ headStart: 6 })).toBe('out-of-range options.headStart');
  });
});
