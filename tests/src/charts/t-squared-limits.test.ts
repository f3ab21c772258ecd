/** Figures: scipy 1.17.1 (stats.f.isf, stats.beta.isf, stats.chi2.isf), mpmath for 1e-9. False-alarm rates: seeded simulation. */
import { describe, expect, test } from 'vitest';
import {
  type TSquaredLimitsOptions,
  tSquaredChart,
  tSquaredLimits,
  tSquaredSubgroupChart,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

function limitsOf(options: TSquaredLimitsOptions) {
  const limits = tSquaredLimits(options);
  if (!limits.available) throw new Error(limits.message);
  return limits;
}

describe('tSquaredLimits', () => {
  test.each<[TSquaredLimitsOptions, number]>([
    [{ characteristics: 3, samplesUsed: 25, subgroupSize: 4, phase: 'first' }, 15.295301899440098],
    [{ characteristics: 3, samplesUsed: 25, subgroupSize: 4 }, 16.569910391060105],
    [{ characteristics: 3, samplesUsed: 30, phase: 'first' }, 11.611862314768162],
    [{ characteristics: 3, samplesUsed: 30 }, 20.202525180612774],
    [{ characteristics: 3, samplesUsed: null }, 14.15625250054093],
    [
      { characteristics: 3, samplesUsed: 30, phase: 'first', covariance: 'successive-differences' },
      14.15625250054093,
    ],
    [{ characteristics: 3, samplesUsed: 30, covariance: 'successive-differences' }, 24.13586679436017],
    [{ characteristics: 3, samplesUsed: 30, falseAlarmProbability: 1e-9 }, 123.7441274873617],
    [{ characteristics: 3, samplesUsed: 30, falseAlarmProbability: 0.5 }, 2.6934934368374712],
  ])('%j has the upper limit %d', (options, expected) => {
    expect(limitsOf(options).upperControlLimit! / expected).toBeCloseTo(1, 9);
    expect(limitsOf(options).lowerControlLimit).toBeNull();
  });

  test('the center line is the median, and the limit falls as the probability rises', () => {
    const shared = { characteristics: 3, samplesUsed: 30 };
    expect(limitsOf(shared).centerLine / 2.6934934368374712).toBeCloseTo(1, 10);
    const limits = [1e-6, 0.001, 0.0027, 0.05, 0.5].map(
      (falseAlarmProbability) => limitsOf({ ...shared, falseAlarmProbability }).upperControlLimit!,
    );
    expect(limits).toEqual(limits.toSorted((a, b) => b - a));
  });

  test('a long baseline is as good as a known standard', () => {
    const known = limitsOf({ characteristics: 4, samplesUsed: null }).upperControlLimit!;
    for (const options of [
      { samplesUsed: 1e6 },
      { samplesUsed: 1e6, phase: 'first' as const },
      { samplesUsed: 1e6, subgroupSize: 3 },
      { samplesUsed: 1e6, covariance: 'successive-differences' as const },
    ])
      expect(limitsOf({ characteristics: 4, ...options }).upperControlLimit! / known).toBeCloseTo(1, 4);
  });

  test.each<[TSquaredLimitsOptions, boolean]>([
    [{ characteristics: 3, samplesUsed: 3 }, false],
    [{ characteristics: 3, samplesUsed: 4 }, true],
    [{ characteristics: 3, samplesUsed: 4, phase: 'first' }, false],
    [{ characteristics: 3, samplesUsed: 5, phase: 'first' }, true],
    [{ characteristics: 3, samplesUsed: 3, phase: 'first', covariance: 'successive-differences' }, false],
    [{ characteristics: 3, samplesUsed: 4, phase: 'first', covariance: 'successive-differences' }, true],
    [{ characteristics: 1, samplesUsed: 1, covariance: 'successive-differences' }, false],
    [{ characteristics: 3, samplesUsed: 2, subgroupSize: 2 }, false],
    [{ characteristics: 3, samplesUsed: 3, subgroupSize: 2 }, true],
    [{ characteristics: 2, samplesUsed: 1, subgroupSize: 5, phase: 'first' }, false],
    [{ characteristics: 2, samplesUsed: 1, subgroupSize: 5 }, true],
  ])('%j has limits: %s', (options, exists) => {
    expect(tSquaredLimits(options).available).toBe(exists);
  });

  test('says what is missing', () => {
    expect(tSquaredLimits({ characteristics: 3, samplesUsed: 2, subgroupSize: 2 })).toEqual({
      available: false,
      reason: 'singular-covariance',
      message:
        '2 subgroups of 2 are too few for a limit for 3 characteristics. Measure more parts, or chart fewer characteristics.',
    });
  });

  test.each([
    [{ characteristics: 0, samplesUsed: 9 }, 'out-of-range', 'options.characteristics'],
    [{ characteristics: 2, samplesUsed: 9.5 }, 'not-an-integer', 'options.samplesUsed'],
    [{ characteristics: 2, samplesUsed: 9, subgroupSize: 0 }, 'out-of-range', 'options.subgroupSize'],
    [{ characteristics: 2, samplesUsed: 9, phase: 'third' }, 'unknown-name', 'options.phase'],
    [{ characteristics: 2, samplesUsed: 9, covariance: 'x' }, 'unknown-name', 'options.covariance'],
    [
      { characteristics: 2, samplesUsed: 9, falseAlarmProbability: 0 },
      'out-of-range',
      'options.falseAlarmProbability',
    ],
  ])('%j is refused: %s at %s', (options, code, argument) => {
    expect(() => tSquaredLimits(options as never)).toThrowError(expect.objectContaining({ code, argument }));
  });
});

describe('simulated false-alarm rates', () => {
  const falseAlarmProbability = 0.05;
  const baselines = 400;
  const random = randomSource(20);
  const rows = (count: number) =>
    Array.from({ length: count }, () => {
      const shared = random.normal();
      return [shared + random.normal(), shared + random.normal(), random.normal()];
    });
  const rate = (points: number, signals: number) => {
    // Four standard errors, widened for the dependence of points that share a baseline.
    const error = 4 * Math.sqrt((falseAlarmProbability * (1 - falseAlarmProbability)) / points) * 1.5;
    return {
      rate: signals / points,
      low: falseAlarmProbability - error,
      high: falseAlarmProbability + error,
    };
  };

  test.each([
    ['individuals, first phase', 'sample', 'first', 1, 1],
    ['individuals, second phase', 'sample', 'second', 1, 1],
    ['successive differences, first phase', 'successive-differences', 'first', 0.9, 1.25],
    ['successive differences, second phase', 'successive-differences', 'second', 0.85, 1.05],
  ] as const)('%s', (_, covariance, phase, lowest, highest) => {
    let points = 0;
    let signals = 0;
    for (let baseline = 0; baseline < baselines; baseline++) {
      const first = tSquaredChart(rows(25), { covariance, falseAlarmProbability });
      if (!first.available) throw new Error(first.message);
      const { standard } = first.basis;
      const chart = phase === 'first' ? first : tSquaredChart(rows(25), { standard, falseAlarmProbability });
      if (!chart.available) throw new Error(chart.message);
      points += chart.points.length;
      signals += chart.signals.length;
    }
    const found = rate(points, signals);
    expect(found.rate).toBeGreaterThan(found.low * lowest);
    expect(found.rate).toBeLessThan(found.high * highest);
  });

  test.each(['first', 'second'] as const)('subgroups, %s phase', (phase) => {
    let points = 0;
    let signals = 0;
    const subgroups = () => Array.from({ length: 10 }, () => rows(3));
    for (let baseline = 0; baseline < baselines; baseline++) {
      const first = tSquaredSubgroupChart(subgroups(), { falseAlarmProbability });
      if (!first.available) throw new Error(first.message);
      const { standard } = first.basis;
      const chart =
        phase === 'first' ? first : tSquaredSubgroupChart(subgroups(), { standard, falseAlarmProbability });
      if (!chart.available) throw new Error(chart.message);
      points += chart.points.length;
      signals += chart.signals.length;
    }
    const found = rate(points, signals);
    expect(found.rate).toBeGreaterThan(found.low);
    expect(found.rate).toBeLessThan(found.high);
  });
});
