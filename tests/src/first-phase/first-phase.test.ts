import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type ExclusionReason,
  firstPhase,
  firstPhaseOfProportions,
  meanAndRangeChart,
  meanAndStandardDeviationChart,
  pChart,
} from '../../../src/index.ts';
import { subgroup } from '../generators.ts';

function available<T>(outcome: { available: boolean } & T) {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<typeof outcome, { available: true }>;
}

/** Twenty quiet subgroups of 4 about 10 with a range of 0.2: the limits of their means are about ± 0.15. */
const quiet = Array.from({ length: 20 }, (_, i) =>
  [9.9, 10, 10.05, 10.1].map((x) => x + 0.005 * ((i % 3) - 1)),
);
const lifted = (values: readonly number[], by: number) => values.map((x) => x + by);
const reason = (index: number, words = 'wrong coil'): ExclusionReason => ({
  index,
  reason: words,
  by: 'line 2',
});

describe('firstPhase', () => {
  test('every round is told: what lay outside, what was left out and why, and the limits', () => {
    // Sample 5 stands far out and hides sample 9, which the second round shows.
    const baseline = quiet.with(5, lifted(quiet[5]!, 1.2)).with(9, lifted(quiet[9]!, 0.18));
    const found = available(
      firstPhase(baseline, { chart: 'mean-range', reasons: [reason(9, 'new blade'), reason(5)] }),
    );
    expect(found.rounds.map(({ round, samplesUsed }) => [round, samplesUsed])).toEqual([
      [1, 20],
      [2, 19],
      [3, 18],
    ]);
    expect(found.excluded.map(({ index }) => index)).toEqual([5, 9]);
    expect(found.excluded[0]).toBe(found.rounds[0]!.excluded[0]);
    expect(found.rounds[0]!.beyondLimits).toContainEqual({
      index: 5,
      chart: 'mean',
      value: expect.closeTo(11.2175, 9),
      lowerControlLimit: expect.any(Number),
      upperControlLimit: expect.any(Number),
    });
    expect(found.rounds[2]).toMatchObject({ beyondLimits: [], excluded: [] });
    expect(found.rounds[2]!.limits.map(({ chart, size }) => [chart, size])).toEqual([
      ['mean', 4],
      ['range', 4],
    ]);
    expect(found.standard).toEqual(found.rounds[2]!.standard);
    expect(found).toMatchObject({ stable: true, needingReason: [], unusedReasons: [] });
    expect(found.message).toBe(
      '2 samples left out in 2 rounds, each for the reason given. No other sample lies outside the limits, which rest on 18 samples: they can be used for what comes next.',
    );
  });

  test('samples are left out in their order, whichever chart shows them', () => {
    // Sample 9 lies outside on the means, sample 5 outside on the ranges.
    const baseline = quiet.with(9, lifted(quiet[9]!, 0.4)).with(5, [9.7, 10, 10, 10.35]);
    const { rounds } = available(
      firstPhase(baseline, { chart: 'mean-range', reasons: [reason(9), reason(5)] }),
    );
    expect(rounds[0]!.beyondLimits.map(({ index, chart }) => [index, chart])).toEqual([
      [9, 'mean'],
      [5, 'range'],
    ]);
    expect(rounds[0]!.excluded.map(({ index }) => index)).toEqual([5, 9]);
  });

  test('the method of the standard deviation is the one asked for', () => {
    const uneven = quiet.with(3, [9.9, 10, 10, 10.12]);
    for (const method of ['standard-deviation', 'pooled'] as const) {
      const found = available(firstPhase(uneven, { chart: 'mean-standard-deviation', method }));
      const chart = available(meanAndStandardDeviationChart(uneven, { method }));
      expect(found.standard).toEqual(chart.standard);
    }
  });

  test('the last round is the chart of what is left', () => {
    const baseline = quiet.with(5, lifted(quiet[5]!, 1.2));
    for (const [kind, chart] of [
      ['mean-range', meanAndRangeChart],
      ['mean-standard-deviation', meanAndStandardDeviationChart],
    ] as const) {
      const found = available(firstPhase(baseline, { chart: kind, reasons: [reason(5)], multiple: 3.5 }));
      const { available: _, ...expected } = available(chart(baseline.with(5, []), { multiple: 3.5 }));
      expect(found.chart).toEqual(expected);
      expect(found.rounds[0]!.standard).toEqual(available(chart(baseline)).standard);
    }
  });

  test('without a reason nothing is left out, and it is said', () => {
    const baseline = quiet.with(5, lifted(quiet[5]!, 1.2)).with(16, lifted(quiet[16]!, -1.2));
    const found = available(firstPhase(baseline, { chart: 'mean-range', reasons: [reason(16)] }));
    expect(found.excluded).toEqual([reason(16)]);
    expect(found.needingReason.map(({ index, chart }) => [index, chart])).toEqual([[5, 'mean']]);
    expect(found.stable).toBe(false);
    expect(found.message).toBe(
      '1 sample left out in 1 round, each for the reason given. Outside the limits without a reason, and therefore still in: sample 6. Find out what happened there; leave a sample out only for a cause that was found and removed.',
    );
    const none = available(firstPhase(baseline, { chart: 'mean-range' }));
    expect(none.rounds).toHaveLength(1);
    expect(none.message).toMatch(/^Nothing was left out\. Outside .*: sample 6, 17\./);
  });

  test('a reason for a sample inside the limits is listed, and the sample stays in', () => {
    const found = available(firstPhase(quiet, { chart: 'mean-range', reasons: [reason(3)] }));
    expect(found.unusedReasons).toEqual([reason(3)]);
    expect(found.excluded).toEqual([]);
    expect(found.rounds[0]!.samplesUsed).toBe(20);
    expect(found.message).toMatch(
      /^Nothing was left out\. No other sample lies outside the limits, which rest on 20 samples/,
    );
  });

  test('individuals: a moving range concerns every value in it', () => {
    const singles = quiet.map((values) => [values[0]!]).with(8, [10.9]);
    const shared = { chart: 'individuals-moving-range' } as const;
    const found = available(firstPhase(singles, { ...shared, reasons: [reason(8)] }));
    // The moving ranges into the value and out of it lie outside too; the one reason settles all.
    expect(found.rounds[0]!.beyondLimits.map(({ index, chart }) => [chart, index])).toEqual([
      ['individual value', 8],
      ['moving range', 8],
      ['moving range', 9],
    ]);
    expect(found).toMatchObject({ stable: true, excluded: [reason(8)] });
    expect(found.chart.spread.points[9]!.value).toBeNull();
    const before = available(firstPhase(singles, { ...shared, reasons: [reason(7)] }));
    expect(before.excluded).toEqual([reason(7)]);
    expect(before.needingReason.map(({ index }) => index)).toContain(8);
    expect(available(firstPhase(singles, { ...shared, reasons: [reason(6)] })).unusedReasons).toEqual([
      reason(6),
    ]);
    const wide = available(firstPhase(singles, { ...shared, movingRangeSpan: 3, reasons: [reason(6)] }));
    expect(wide.excluded).toEqual([reason(6)]);
  });

  test('many places are named shortly, in order', () => {
    const jumping = quiet.map((values, index) => (index % 2 === 0 ? lifted(values, 5) : values));
    const { message, needingReason } = available(firstPhase(jumping, { chart: 'mean-range' }));
    expect(needingReason.length).toBe(20);
    expect(message).toContain('sample 1, 2, 3, 4, 5, 6, 7, 8, 9, 10 and 10 more.');
  });

  test('limits by size, each once, ascending', () => {
    const mixed = quiet.map((values, index) => values.slice(0, index % 3 === 0 ? 3 : 4));
    const { limits } = available(firstPhase(mixed, { chart: 'mean-range' })).rounds[0]!;
    expect(limits.map(({ chart, size }) => [chart, size])).toEqual([
      ['mean', 3],
      ['mean', 4],
      ['range', 3],
      ['range', 4],
    ]);
    expect(limits[0]!.upperControlLimit).toBeGreaterThan(limits[1]!.upperControlLimit!);
  });

  test('never silently: with any reasons, in and out add up and rounds end', () => {
    const reasons = fc.uniqueArray(fc.integer({ min: 0, max: 14 }), { maxLength: 15 });
    fc.assert(
      fc.property(fc.array(subgroup, { minLength: 15, maxLength: 20 }), reasons, (subgroups, places) => {
        const given = places.map((index) => reason(index));
        const copy = structuredClone(subgroups);
        const found = firstPhase(subgroups, { chart: 'mean-range', reasons: given, multiple: 1 });
        expect(subgroups).toEqual(copy);
        if (!found.available) return;
        expect([...found.excluded, ...found.unusedReasons].map(({ index }) => index).toSorted()).toEqual(
          places.toSorted(),
        );
        expect(found.rounds.flatMap(({ excluded }) => excluded)).toEqual(found.excluded);
        expect(found.rounds.length).toBeLessThanOrEqual(places.length + 1);
        const out = new Set(places);
        for (const { index } of found.needingReason) expect(out.has(index)).toBe(false);
        expect(found.stable).toBe(found.needingReason.length === 0);
      }),
    );
  });

  test('too little left is named with how much was left out', () => {
    const baseline = [
      [1, 2],
      [9, 9.5],
      [1, 1],
    ];
    const found = firstPhase(baseline, {
      chart: 'mean-range',
      multiple: 0.1,
      reasons: [reason(0), reason(1), reason(2)],
    });
    expect(found).toMatchObject({
      available: false,
      reason: 'too-few-values',
      message: expect.stringMatching(/^With \d samples left out: /),
    });
    expect(firstPhase([[1], [2]], { chart: 'mean-range' })).toMatchObject({
      available: false,
      message: expect.not.stringMatching(/left out/),
    });
  });

  test.each([
    [[], {}, 'empty', 'subgroups'],
    [quiet, { chart: 'x' }, 'unknown-name', 'options.chart'],
    [quiet, { reasons: [reason(20)] }, 'out-of-range', 'options.reasons.0.index'],
    [quiet, { reasons: [reason(-1)] }, 'out-of-range', 'options.reasons.0.index'],
    [quiet, { reasons: [reason(1), reason(1)] }, 'out-of-range', 'options.reasons.1.index'],
    [quiet, { reasons: [reason(1, ' ')] }, 'empty', 'options.reasons.0.reason'],
    [quiet, { chart: 'individuals-moving-range' }, 'sizes-differ', 'subgroups.0'],
    [quiet, { multiple: 0 }, 'out-of-range', 'options.multiple'],
  ])('case %#: %j with %j is refused: %s at %s', (subgroups, others, code, argument) => {
    const options = { chart: 'mean-range', ...others } as never;
    expect(() => firstPhase(subgroups, options)).toThrowError(expect.objectContaining({ code, argument }));
  });
});

describe('firstPhaseOfProportions', () => {
  const samples = [3, 2, 4, 3, 25, 2, 3, 1, 12, 3].map((count) => ({ count, size: 100 }));

  test('rounds until nothing with a reason lies outside', () => {
    const found = available(firstPhaseOfProportions(samples, { reasons: [reason(4), reason(8)] }));
    // Round 1: 58 of 1000, upper limit 0.058 + 3·0.0234 = 0.128; round 2: 33 of 900, 0.037 + 3·0.0188 = 0.093.
    expect(
      found.rounds.map(({ standard, excluded }) => [standard, excluded.map(({ index }) => index)]),
    ).toEqual([
      [expect.closeTo(58 / 1000, 12), [4]],
      [expect.closeTo(33 / 900, 12), [8]],
      [expect.closeTo(21 / 800, 12), []],
    ]);
    expect(found.stable).toBe(true);
    const { available: _, ...expected } = available(
      pChart(samples.with(4, null as never).with(8, null as never)),
    );
    expect(found.chart).toEqual(expected);
  });

  test('passes the width of the limits on, and refuses no samples', () => {
    expect(available(firstPhaseOfProportions(samples, { multiple: 10 })).stable).toBe(true);
    expect(available(firstPhaseOfProportions(samples)).needingReason.map(({ index }) => index)).toEqual([4]);
    expect(() => firstPhaseOfProportions([])).toThrowError(
      expect.objectContaining({ code: 'empty', argument: 'samples' }),
    );
  });
});
