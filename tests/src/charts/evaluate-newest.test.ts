import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type ChartKind,
  evaluateNewest,
  evaluateSeries,
  type MonitoringSettings,
  runRuleNames,
  type Subgroup,
  subgroupStatistics,
  windowLength,
} from '../../../src/index.ts';

const standard = { mean: 10, withinSubgroupStandardDeviation: 0.02, meanStandardDeviation: null };
const all = { rules: runRuleNames };
const settings: MonitoringSettings = {
  kind: 'mean-range',
  locationRules: all,
  spreadRules: all,
  lowerNaturalBound: null,
  upperNaturalBound: null,
};

/** Readings of a coarse gauge near the standard, so that ties, runs and signals all occur. */
const coarse = fc.option(
  fc.integer({ min: -6, max: 6 }).map((hundredths) => 10 + hundredths / 100),
  { freq: 12 },
);
const drift = fc.integer({ min: -3, max: 3 });
const seriesOf = (readings: fc.Arbitrary<Subgroup>) =>
  fc.array(fc.tuple(readings, drift), { maxLength: 45 }).map((entries) => {
    let level = 0;
    return entries.map(([subgroup, step]) => {
      level = Math.max(-4, Math.min(4, level + step / 3));
      return subgroup.map((reading) => (reading === null ? null : reading + level / 100));
    });
  });
const kinds: [ChartKind, fc.Arbitrary<Subgroup[]>][] = [
  ['mean-range', seriesOf(fc.array(coarse, { minLength: 0, maxLength: 5 }))],
  ['mean-range', seriesOf(fc.array(coarse, { minLength: 4, maxLength: 4 }))],
  ['mean-standard-deviation', seriesOf(fc.array(coarse, { minLength: 2, maxLength: 6 }))],
  ['individuals-moving-range', seriesOf(fc.array(coarse, { minLength: 1, maxLength: 1 }))],
];
const someRules = fc.record({
  rules: fc.subarray([...runRuleNames]),
  oneSideRunLength: fc.constantFrom(7 as const, 8 as const, 9 as const),
  outsideMustBeOnBothSides: fc.boolean(),
});

describe('evaluateNewest', () => {
  test.each(kinds)(
    '%s: its window alone gives what the whole series gives, at every point',
    (kind, series) => {
      let signals = 0;
      fc.assert(
        fc.property(series, someRules, someRules, (subgroups, locationRules, spreadRules) => {
          const chosen = { ...settings, kind, locationRules, spreadRules, lowerNaturalBound: 9.99 };
          const statistics = subgroups.map(subgroupStatistics);
          const whole = evaluateSeries(statistics, standard, chosen);
          const length = windowLength(chosen);
          statistics.forEach((_, index) => {
            const from = Math.max(0, index + 1 - length);
            const newest = evaluateNewest(statistics.slice(from, index + 1), standard, chosen);
            const moved = newest.signals.map((signal) => ({
              ...signal,
              points: signal.points.map((p) => p + from),
            }));
            signals += moved.length;
            expect({ ...newest, signals: moved }).toEqual(whole[index]);
            // A longer window changes nothing.
            expect(evaluateNewest(statistics.slice(0, index + 1), standard, chosen)).toEqual(whole[index]);
          });
        }),
        { numRuns: 60 },
      );
      expect(signals).toBeGreaterThan(20);
    },
  );

  test('other units and another origin change no signal', () => {
    fc.assert(
      fc.property(kinds[1]![1], (subgroups) => {
        const evaluate = (factor: number) =>
          evaluateSeries(
            subgroups.map((subgroup) =>
              subgroupStatistics(subgroup.map((r) => (r === null ? null : r * factor))),
            ),
            {
              ...standard,
              mean: 10 * factor,
              withinSubgroupStandardDeviation: 0.02 * factor,
            },
            settings,
          ).map(({ signals }) => signals);
        // A power of two rescales without rounding, so even ties must stay ties.
        expect(evaluate(1024)).toEqual(evaluate(1));
      }),
    );
  });

  test('frozen input stays as it is', () => {
    const window = Object.freeze(
      [
        [10, 10.1],
        [10.1, 10.2],
      ].map((readings) => Object.freeze(subgroupStatistics(readings))),
    );
    const copy = structuredClone(window);
    const frozen = Object.freeze({ ...settings, locationRules: Object.freeze({ ...all }) });
    evaluateNewest(window, Object.freeze({ ...standard }), frozen);
    expect(window).toEqual(copy);
  });

  test('a value exactly on a line of the chart is on it, not beyond', () => {
    // 10.3 lies exactly on 10 + 3 · 0.2/√4; standardised it would be 3.0000000000000027.
    const four = { ...standard, withinSubgroupStandardDeviation: 0.2 };
    const on = evaluateNewest([subgroupStatistics([10.3, 10.3, 10.3, 10.3])], four, settings);
    expect(on.location).toMatchObject({ value: 10.3, limits: { upperControlLimit: 10.3 } });
    expect(on.signals.filter(({ chart }) => chart === 'location')).toEqual([]);
  });

  test('a limit that does not exist gives no signal', () => {
    const near = { ...standard, mean: 0.02 };
    const below = [subgroupStatistics([-0.2, -0.2])];
    const rule = { ...settings, locationRules: { rules: ['one-beyond-three-sigma'] as const } };
    expect(evaluateNewest(below, near, rule).signals).toHaveLength(1);
    expect(evaluateNewest(below, near, { ...rule, lowerNaturalBound: 0 }).signals).toEqual([]);
  });

  test('without variation, the mean itself is no signal and all else is', () => {
    const rigid = { ...standard, withinSubgroupStandardDeviation: 0 };
    expect(evaluateNewest([subgroupStatistics([10, 10])], rigid, settings).signals).toEqual([]);
    const off = evaluateNewest([subgroupStatistics([10.1, 10.1])], rigid, settings);
    expect(off.signals).toEqual([
      { chart: 'location', rule: 'one-beyond-three-sigma', points: [0], side: 'above' },
    ]);
  });

  test('windows are as long as the longest rule, one longer for moving ranges', () => {
    const only = (rule: (typeof runRuleNames)[number]) => ({ rules: [rule] });
    const none = { rules: [] };
    const base = { ...settings, locationRules: none, spreadRules: none };
    expect(windowLength(base)).toBe(1);
    expect(windowLength({ ...base, kind: 'individuals-moving-range' })).toBe(2);
    expect(
      windowLength({ ...base, locationRules: { ...only('run-on-one-side'), oneSideRunLength: 7 } }),
    ).toBe(7);
    expect(windowLength({ ...base, locationRules: all })).toBe(15);
    expect(windowLength({ ...base, kind: 'individuals-moving-range', spreadRules: all })).toBe(16);
  });

  test.each([
    [[], {}, 'empty', 'window'],
    [
      [subgroupStatistics([1, 2])],
      { locationRules: { rules: ['x'] } },
      'unknown-name',
      'settings.locationRules.rules.0',
    ],
    [
      [subgroupStatistics([1, 2])],
      { spreadRules: { rules: [], oneSideRunLength: 3 } },
      'out-of-range',
      'settings.spreadRules.oneSideRunLength',
    ],
    [[subgroupStatistics([1, 2])], { kind: 'x' }, 'unknown-name', 'kind'],
    [[{ size: 2, mean: Number.NaN, range: 1, standardDeviation: 1 }], {}, 'not-finite', 'window.0'],
    [[{ size: 2, mean: 1, range: Infinity, standardDeviation: 1 }], {}, 'not-finite', 'window.0'],
  ])('case %#: %j with %j is refused: %s at %s', (window, change, code, argument) => {
    expect(() => evaluateNewest(window, standard, { ...settings, ...change } as never)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });
});
