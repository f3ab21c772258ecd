import { describe, expect, it } from 'vitest';
import {
  type CusumRunLengthSettings,
  cusumColumns,
  cusumDecisionInterval,
  cusumRunLength,
  type EwmaRunLengthSettings,
  ewmaColumns,
  ewmaMultiple,
  ewmaRunLength,
  type RunLengthOptions,
  shewhartRunLength,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { averagesOfChain } from '../../../src/run-length/average-of-chain.ts';
import { oneSum } from '../../../src/run-length/one-sum.ts';

function needed<T extends { readonly available: boolean }>(outcome: T): Extract<T, { available: true }> {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<T, { available: true }>;
}
const ewma = (settings: EwmaRunLengthSettings, options: RunLengthOptions = {}) =>
  needed(ewmaRunLength(settings, options));
const cusum = (settings: CusumRunLengthSettings, options: RunLengthOptions = {}) =>
  needed(cusumRunLength(settings, options));

const runs = 1500;
const process = { target: 0, withinSubgroupStandardDeviation: 1 };

/**
 * Run lengths of the charts themselves. `calm` samples are in control before the process changes; a chart that signals
 * among them is begun anew.
 */
function simulated(
  signalsOf: (values: Float64Array) => Uint8Array,
  { shift = 0, standardDeviationRatio = 1 }: RunLengthOptions,
  longest: number,
  calm = 0,
) {
  const { normal } = randomSource(4711);
  const lengths: number[] = [];
  while (lengths.length < runs) {
    const values = Float64Array.from({ length: calm + longest }, (_, index) =>
      index < calm ? normal() : shift + standardDeviationRatio * normal(),
    );
    const first = signalsOf(values).findIndex((beyond) => beyond > 0);
    if (first >= calm) lengths.push(first - calm + 1);
    else if (first < 0) throw new Error('a simulated chart ran out of values');
  }
  const mean = lengths.reduce((sum, length) => sum + length, 0) / runs;
  const spread = Math.sqrt(lengths.reduce((sum, length) => sum + (length - mean) ** 2, 0) / (runs - 1));
  return {
    mean,
    spread,
    share: (limit: number) => lengths.filter((length) => length <= limit).length / runs,
  };
}

function expectAgreement(
  exact: ReturnType<typeof ewma>,
  { mean, spread, share }: ReturnType<typeof simulated>,
) {
  expect(Math.abs(mean - exact.averageRunLength)).toBeLessThan((4 * spread) / Math.sqrt(runs));
  expect(Math.abs(spread / exact.standardDeviation - 1)).toBeLessThan(4 * Math.sqrt(2 / runs));
  for (const { probability, samples } of exact.quantiles) {
    const allowed = 4 * Math.sqrt((probability * (1 - probability)) / runs);
    expect(share(samples)).toBeGreaterThan(probability - allowed);
    expect(share(samples - 1)).toBeLessThan(probability + allowed);
  }
}

describe('run length of an EWMA chart', () => {
  it.each<[EwmaRunLengthSettings, RunLengthOptions, number]>([
    [{ smoothing: 0.1, multiple: 2, limits: 'asymptotic' }, { shift: 0.5 }, 0],
    [{ smoothing: 0.1, multiple: 2, limits: 'time-varying' }, { shift: 0.5 }, 0],
    [
      { smoothing: 0.3, multiple: 2.5, limits: 'time-varying' },
      { shift: -0.8, standardDeviationRatio: 1.3 },
      0,
    ],
    [{ smoothing: 0.1, multiple: 2, limits: 'asymptotic' }, { shift: 1, start: 'steady-state' }, 30],
  ])('is what simulated charts give with %o under %o', (settings, options, calm) => {
    const exact = ewma(settings, options);
    const chart = (values: Float64Array) =>
      ewmaColumns(values, { ...process, ...settings } as typeof process & EwmaRunLengthSettings).beyondLimits;
    expectAgreement(exact, simulated(chart, options, 300, calm));
  });

  it('with smoothing 1 is that of a Shewhart chart', () => {
    for (const limits of ['asymptotic', 'time-varying'] as const)
      for (const shift of [0, 1.5]) {
        const plain = needed(shewhartRunLength({ multiple: 2.8 }, { shift }));
        const found = ewma({ smoothing: 1, multiple: 2.8, limits }, { shift });
        expect(found.averageRunLength / plain.averageRunLength).toBeCloseTo(1, 10);
        expect(found.quantiles).toEqual(plain.quantiles);
      }
  });

  it('is the same for shifts up and down, and shorter for larger ones and narrower limits', () => {
    const at = (shift: number, multiple = 2.7) =>
      ewma({ smoothing: 0.15, multiple }, { shift }).averageRunLength;
    expect(at(-0.7) / at(0.7)).toBeCloseTo(1, 10);
    expect(at(1)).toBeLessThan(at(0.7));
    expect(at(0.7, 2.5)).toBeLessThan(at(0.7));
  });

  it('starts with limits that vary unless told otherwise, λ = 0.2 and three standard deviations', () => {
    expect(ewma({})).toEqual(ewma({ smoothing: 0.2, multiple: 3, limits: 'time-varying' }));
    expect(ewma({ limits: 'asymptotic' }).averageRunLength).toBeGreaterThan(ewma({}).averageRunLength);
  });

  it.each([
    [{ smoothing: 0.005 }, 'out-of-range', 'settings.smoothing'],
    [{ smoothing: 1.01 }, 'out-of-range', 'settings.smoothing'],
    [{ multiple: 0.05 }, 'out-of-range', 'settings.multiple'],
    [{ limits: 'no' as 'asymptotic' }, 'unknown-name', 'settings.limits'],
  ])('refuses %o', (settings, code, argument) => {
    expect(() => ewmaRunLength(settings)).toThrow(expect.objectContaining({ code, argument }));
  });

  it('says where the equation would need too many nodes, or nothing ever signals', () => {
    const calm = { standardDeviationRatio: 0.1 };
    expect(ewmaRunLength({ smoothing: 0.05, multiple: 3 }, calm)).toMatchObject({ reason: 'outside-method' });
    expect(ewmaRunLength({ smoothing: 0.9, multiple: 5 }, calm)).toMatchObject({ reason: 'not-reachable' });
  });
});

describe('run length of a CUSUM chart', () => {
  it.each<[CusumRunLengthSettings, RunLengthOptions, number]>([
    [{ referenceValue: 0.5, decisionInterval: 3 }, { shift: 0.5 }, 0],
    [{ referenceValue: 0.5, decisionInterval: 3, headStart: 0.5 }, { shift: -0.5 }, 0],
    [{ referenceValue: 0.3, decisionInterval: 4, headStart: 0.5 }, { standardDeviationRatio: 1.4 }, 0],
    [{ referenceValue: 0.4, decisionInterval: 4, sides: 'upper' }, { shift: 0.8 }, 0],
    [{ referenceValue: 0.4, decisionInterval: 4, sides: 'lower' }, { shift: -0.8 }, 0],
    [{ referenceValue: 0.4, decisionInterval: 3, sides: 'upper' }, { shift: 0.8, start: 'steady-state' }, 30],
  ])('is what simulated charts give with %o under %o', (settings, options, calm) => {
    const exact = cusum(settings, options);
    const chart = (values: Float64Array) =>
      cusumColumns(values, { ...process, ...settings } as typeof process & CusumRunLengthSettings)
        .beyondLimits;
    expectAgreement(exact, simulated(chart, options, 300, calm));
  });

  // Lucas and Crosier, Technometrics 24(3), 1982: two sides from one, with a head start.
  it('of two sides follows from that of one', () => {
    for (const shift of [0, 0.4, 2]) {
      const common = { referenceValue: 0.5, decisionInterval: 4 };
      const one = (sides: 'upper' | 'lower', headStart: number) =>
        cusum({ ...common, sides, headStart }, { shift }).averageRunLength;
      const [u0, l0, us, ls] = [one('upper', 0), one('lower', 0), one('upper', 0.5), one('lower', 0.5)];
      const both = cusum({ ...common, headStart: 0.5 }, { shift }).averageRunLength;
      expect(both / ((us * l0 + ls * u0 - u0 * l0) / (u0 + l0))).toBeCloseTo(1, 8);
      expect(1 / cusum(common, { shift }).averageRunLength / (1 / u0 + 1 / l0)).toBeCloseTo(1, 8);
    }
  });

  it('is the same for shifts up and down and for sides turned', () => {
    const settings = { referenceValue: 0.5, decisionInterval: 4, headStart: 0.3 };
    const up = cusum(settings, { shift: 0.6 });
    expect(cusum(settings, { shift: -0.6 })).toEqual(up);
    expect(cusum({ ...settings, sides: 'upper' }, { shift: 0.6 })).toEqual(
      cusum({ ...settings, sides: 'lower' }, { shift: -0.6 }),
    );
    expect(cusum({ ...settings, decisionInterval: 5 }, { shift: 0.6 }).averageRunLength).toBeGreaterThan(
      up.averageRunLength,
    );
  });

  it('is the same walked as solved', () => {
    for (const [k, h, shift, ratio] of [
      [0.5, 5, 0, 1],
      [0.1, 8, 0.1, 1.5],
      [1, 3, -1, 0.7],
    ] as const) {
      const chain = oneSum(k, h, shift, ratio);
      const [fresh, first] = averagesOfChain(chain, [chain.from(0), chain.from(h / 2)]);
      const options = { shift, standardDeviationRatio: ratio };
      const settings = { referenceValue: k, decisionInterval: h, sides: 'upper' } as const;
      expect(cusum(settings, options).averageRunLength / fresh!).toBeCloseTo(1, 8);
      expect(cusum({ ...settings, headStart: 0.5 }, options).averageRunLength / first!).toBeCloseTo(1, 8);
    }
  });

  it('has k = 0.5, h = 5 and both sides unless told otherwise', () => {
    expect(cusum({})).toEqual(
      cusum({ referenceValue: 0.5, decisionInterval: 5, headStart: 0, sides: 'both' }),
    );
  });

  it('says what the method does not cover', () => {
    expect(cusumRunLength({}, { start: 'steady-state' })).toMatchObject({ reason: 'outside-method' });
    expect(cusumRunLength({ referenceValue: 0.25, headStart: 0.55 })).toMatchObject({ available: true });
    expect(cusumRunLength({ referenceValue: 0.25, headStart: 0.56 })).toMatchObject({
      reason: 'outside-method',
    });
    expect(cusumRunLength({ sides: 'upper', headStart: 1 })).toMatchObject({ available: true });
    expect(cusumRunLength({ decisionInterval: 11 }, { standardDeviationRatio: 0.1 })).toMatchObject({
      reason: 'outside-method',
    });
    expect(cusumRunLength({ sides: 'upper' }, { shift: -20 })).toMatchObject({ reason: 'not-reachable' });
    // The lower sum alone signals here.
    expect(cusum({}, { shift: -20 }).averageRunLength).toBeCloseTo(1, 9);
  });

  it.each([
    [{ referenceValue: -1 }, 'settings.referenceValue'],
    [{ decisionInterval: 0 }, 'settings.decisionInterval'],
    [{ decisionInterval: 51 }, 'settings.decisionInterval'],
    [{ headStart: -0.1 }, 'settings.headStart'],
  ])('refuses %o', (settings, argument) => {
    expect(() => cusumRunLength(settings)).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument }),
    );
    if (!('decisionInterval' in settings))
      expect(() => cusumDecisionInterval(370, settings)).toThrow(expect.objectContaining({ argument }));
  });
});

describe('the chart for a wanted run length', () => {
  // Lucas and Saccucci, Technometrics 32(1), 1990: multiples for 500 samples, printed to three decimals.
  it.each([
    [0.1, 2.814],
    [0.25, 2.998],
    [0.4, 3.054],
  ])('EWMA with λ = %d', (smoothing, printed) => {
    const { multiple } = needed(ewmaMultiple(500, { smoothing, limits: 'asymptotic' }));
    expect(multiple).toBeCloseTo(printed, 3);
  });

  it('gives that run length', () => {
    for (const wanted of [20, 1e6]) {
      for (const limits of ['asymptotic', 'time-varying'] as const) {
        const { multiple } = needed(ewmaMultiple(wanted, { smoothing: 0.4, limits }));
        expect(ewma({ smoothing: 0.4, multiple, limits }).averageRunLength / wanted).toBeCloseTo(1, 7);
      }
      for (const settings of [
        { referenceValue: 0.75 },
        { referenceValue: 0.5, headStart: 0.5 },
        { sides: 'upper' as const, headStart: 0.25 },
      ]) {
        const { decisionInterval } = needed(cusumDecisionInterval(wanted, settings));
        expect(cusum({ ...settings, decisionInterval }).averageRunLength / wanted).toBeCloseTo(1, 7);
      }
    }
  });

  it('does not exist outside the range of the parameters', () => {
    expect(cusumDecisionInterval(1.5, { referenceValue: 2 })).toMatchObject({ reason: 'not-reachable' });
    expect(cusumDecisionInterval(1e8, { referenceValue: 0 })).toMatchObject({ reason: 'not-reachable' });
    expect(cusumDecisionInterval(1e5, { referenceValue: 0.1, headStart: 0.9 })).toMatchObject({
      reason: 'outside-method',
    });
    expect(() => ewmaMultiple(1.4)).toThrow(expect.objectContaining({ argument: 'averageRunLength' }));
  });
});
