import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  chartFactors,
  type GroupSettings,
  groupChart,
  groupColumns,
  groupLimits,
  groupNext,
  groupStart,
  laneRunLength,
  type Subgroup,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { rangeQuantile, rangeUpperTail } from '../../../src/samples/range-distribution.ts';

const standard = { mean: 10, withinSubgroupStandardDeviation: 0.2 };
/** Coarse, so that ties and values on a limit are common. */
const reading = fc.integer({ min: 96, max: 104 }).map((tenths) => tenths / 10);
const laneWithGaps: fc.Arbitrary<Subgroup> = fc.array(fc.option(reading, { freq: 5 }), { maxLength: 3 });
const samplesWithGaps = fc.array(fc.array(laneWithGaps, { minLength: 3, maxLength: 3 }), {
  minLength: 1,
  maxLength: 12,
});
const fullSamples = fc
  .tuple(fc.integer({ min: 2, max: 4 }), fc.integer({ min: 1, max: 3 }))
  .chain(([lanes, size]) =>
    fc.array(
      fc.array(fc.array(reading, { minLength: size, maxLength: size }), {
        minLength: lanes,
        maxLength: lanes,
      }),
      { minLength: 1, maxLength: 20 },
    ),
  );

function chartOf(
  samples: readonly (readonly Subgroup[])[],
  options: Parameters<typeof groupChart>[1] = { standard },
) {
  const chart = groupChart(samples, options);
  if (!chart.available) throw new Error(chart.message);
  return chart;
}

function live(samples: readonly (readonly Subgroup[])[], settings: GroupSettings) {
  let state = groupStart();
  return samples.map((lanes) => {
    const next = groupNext(state, lanes, settings);
    state = JSON.parse(JSON.stringify(next.state));
    return next.points;
  });
}

describe('groupChart', () => {
  test('lanes with different numbers of readings are compared in standard errors from the standard', () => {
    // From 10: one reading of 11 is 1 away, four of 10.3 are 0.6; one of 9.5 is −0.5, four of 9.7 are −0.6.
    const fours = (value: number) => [value, value, value, value];
    const chart = chartOf([[[11], fours(10.3), [9.5], fours(9.7)]]);
    expect(chart.basis.method).toBe('given');
    expect(chart.largest.points[0]).toMatchObject({ value: 11, lane: 0, size: 1 });
    expect(chart.smallest.points[0]).toMatchObject({ value: 9.7, lane: 3, size: 4 });
  });

  test('names the extreme lanes and draws the limits of one lane', () => {
    const samples = [
      [
        [1, 3],
        [4, 4],
        [2, 2],
      ],
      [
        [2, 2],
        [3, 5],
        [6, 8],
      ],
    ];
    const chart = chartOf(samples, { lanes: ['A', 'B', 'C'] });
    // Means 2 4 2, 2 4 7; ranges 2 0 0, 0 2 2: average range 1.
    const within = Math.sqrt(Math.PI) / 2;
    expect(chart.basis.standard.mean).toBe(3.5);
    expect(chart.basis.standard.withinSubgroupStandardDeviation).toBeCloseTo(within, 12);
    expect(chart.basis).toMatchObject({
      method: 'range',
      subgroupsUsed: 6,
      readingsUsed: 12,
      lanes: ['A', 'B', 'C'],
    });
    expect(chart.basis.run).toMatchObject({ lanes: 3, runLength: 7 });
    expect(chart.largest.points.map(({ value, lane, laneName }) => [value, lane, laneName])).toEqual([
      [4, 1, 'B'],
      [7, 2, 'C'],
    ]);
    // Two lanes share the smallest mean of the first sample: the first one is named.
    expect(chart.smallest.points.map(({ value, laneName, size }) => [value, laneName, size])).toEqual([
      [2, 'A', 2],
      [2, 'A', 2],
    ]);
    expect(chart.largestRange.points.map(({ value, laneName }) => [value, laneName])).toEqual([
      [2, 'A'],
      [2, 'B'],
    ]);
    const { A, D2 } = chartFactors(2);
    expect(chart.largest.points[0]!.limits!.upperControlLimit).toBeCloseTo(3.5 + A * within, 10);
    expect(chart.smallest.points[0]!.limits!.lowerControlLimit).toBeCloseTo(3.5 - A * within, 10);
    expect(chart.largestRange.points[0]!.limits!.upperControlLimit).toBeCloseTo(D2 * within, 10);
    expect(chart.largestRange.points[0]!.limits!.lowerControlLimit).toBeNull();
    expect([chart.largest, chart.smallest, chart.largestRange].map(({ statistic }) => statistic)).toEqual([
      'largest lane mean',
      'smallest lane mean',
      'largest lane range',
    ]);
    expect(chartOf(samples).basis.lanes[2]).toBe('lane 3');
  });

  test('signals exactly where some lane is beyond its own limits', () => {
    fc.assert(
      fc.property(
        samplesWithGaps,
        fc.constantFrom({ multiple: 2 }, { falseAlarmProbability: 0.05 }),
        (samples, convention) => {
          const chart = chartOf(samples, { standard, ...convention });
          samples.forEach((lanes, index) => {
            const kept = lanes.map((lane) => lane.filter((one) => one !== null));
            const present = kept.filter(({ length }) => length > 0).length;
            const pairs = kept.filter(({ length }) => length > 1).length;
            const verdicts = kept.map((lane) => {
              if (lane.length === 0) return { above: false, below: false, wide: false };
              const mean = lane.reduce((sum, one) => sum + (one - lane[0]!), 0) / lane.length + lane[0]!;
              const limits = groupLimits({ standard, lanes: present, size: lane.length, ...convention }).mean;
              const wide =
                lane.length > 1 &&
                Math.max(...lane) - Math.min(...lane) >
                  groupLimits({ standard, lanes: pairs, size: lane.length, ...convention }).range!
                    .upperControlLimit!;
              return {
                above: mean > limits.upperControlLimit!,
                below: mean < limits.lowerControlLimit!,
                wide,
              };
            });
            const { largest, smallest, largestRange } = chart;
            expect(largest.points[index]!.beyondLimits || smallest.points[index]!.beyondLimits).toBe(
              verdicts.some(({ above, below }) => above || below),
            );
            expect(largestRange.points[index]!.beyondLimits).toBe(verdicts.some(({ wide }) => wide));
            if (present === 0)
              expect(largest.points[index]).toMatchObject({ lane: null, laneName: null, limits: null });
          });
        },
      ),
      { numRuns: 25 },
    );
  });

  test('chart and live agree, with gaps', () => {
    fc.assert(
      fc.property(samplesWithGaps, fc.constantFrom(2, 3), (samples, runLength) => {
        const chart = chartOf(samples, { standard, runLength });
        const points = live(samples, { standard, runLength });
        expect(points.map((point) => point.largest)).toEqual(chart.largest.points);
        expect(points.map((point) => point.smallest)).toEqual(chart.smallest.points);
        expect(points.map((point) => point.largestRange)).toEqual(chart.largestRange.points);
        expect(points.flatMap((point) => point.runs)).toEqual(chart.runs);
      }),
      { numRuns: 50 },
    );
  });

  test('columns agree with the chart', () => {
    fc.assert(
      fc.property(
        fullSamples,
        fc.constantFrom({}, { multiple: 1 }, { falseAlarmProbability: 0.1 }),
        (samples, convention) => {
          const chart = chartOf(samples, { standard, runLength: 2, ...convention });
          const columns = groupColumns(Float64Array.from(samples.flat(2)), {
            standard,
            laneCount: samples[0]!.length,
            subgroupSize: samples[0]![0]!.length,
            ...convention,
          });
          const { points: largest } = chart.largest;
          const { points: smallest } = chart.smallest;
          const { points: range } = chart.largestRange;
          expect([...columns.largestMeans]).toEqual(largest.map(({ value }) => value));
          expect([...columns.smallestMeans]).toEqual(smallest.map(({ value }) => value));
          expect([...columns.largestLanes]).toEqual(largest.map(({ lane }) => lane));
          expect([...columns.smallestLanes]).toEqual(smallest.map(({ lane }) => lane));
          expect([...columns.largestRanges]).toEqual(range.map(({ value }) => value ?? 0));
          expect([...columns.largestRangeLanes]).toEqual(range.map(({ lane }) => lane ?? 0));
          const flags = (points: typeof largest) =>
            points.map(({ value, limits }) =>
              value === null || limits === null
                ? 0
                : value > limits.upperControlLimit!
                  ? 1
                  : value < (limits.lowerControlLimit ?? -Infinity)
                    ? 2
                    : 0,
            );
          expect([...columns.largestBeyondLimits]).toEqual(flags(largest));
          expect([...columns.smallestBeyondLimits]).toEqual(flags(smallest));
          expect([...columns.rangesBeyondLimits]).toEqual(flags(range));
          for (const side of ['largest', 'smallest'] as const) {
            const runs = side === 'largest' ? columns.largestRuns : columns.smallestRuns;
            const long = [...runs.entries()].filter(([, length]) => length >= 2);
            expect(long).toEqual(
              chart.runs.filter((run) => run.side === side).map(({ index, length }) => [index, length]),
            );
          }
        },
      ),
      { numRuns: 60 },
    );
  });

  test('a run of the same lane signals at r samples with its exact probability', () => {
    const sample = [[11], [10], [9]];
    const samples: (number | null)[][][] = [sample, sample, sample, [[11], [10], [null]], sample];
    const { runs } = chartOf(samples, { standard, runLength: 4, lanes: ['A', 'B', 'C'] });
    // Three lanes thrice, then two, then three: (1/3)²·(1/2) and once more 1/3.
    expect(runs.map(({ index, side, lane, length }) => [index, side, lane, length])).toEqual([
      [3, 'largest', 0, 4],
      [4, 'largest', 0, 5],
    ]);
    expect(runs[0]!.probability).toBeCloseTo(1 / 18, 12);
    expect(runs[1]!.probability).toBeCloseTo(1 / 54, 12);
    expect(runs[0]!.message).toBe(
      'A has had the largest mean 4 times in a row, which lanes that are alike do with probability 0.056: look for what is different there.',
    );
  });

  test.each<[string, Subgroup[]]>([
    ['its lane is missing', [[], [10], [9]]],
    ['it shares the edge', [[11], [11], [9]]],
    ['no other lane is there', [[11], [], []]],
    ['no lane is there', [[], [], []]],
  ])('a run ends where %s', (_, between) => {
    const sample = [[11], [10], [9]];
    const { runs } = chartOf([sample, sample, between, sample, sample, sample], { standard, runLength: 3 });
    expect(runs.filter(({ side }) => side === 'largest').map(({ index }) => index)).toEqual([5]);
  });

  test('false alarms are as many as promised, for means, ranges and runs', () => {
    const { normal } = randomSource(30);
    const samples = Array.from({ length: 6000 }, () =>
      Array.from({ length: 5 }, () => Array.from({ length: 3 }, () => 10 + 0.2 * normal())),
    );
    const chart = chartOf(samples, { standard, falseAlarmProbability: 0.05, runLength: 3 });
    const places = new Set([...chart.signals.largest, ...chart.signals.smallest]);
    // 300 expected of each, standard deviation 17.
    expect(Math.abs(places.size - 300)).toBeLessThan(68);
    expect(Math.abs(chart.signals.largestRange.length - 300)).toBeLessThan(68);
    // Plain convention: 1 − (1 − 0.0027)⁵ is 1.34 %, 81 expected, standard deviation 9.
    const plain = chartOf(samples);
    expect(Math.abs(new Set([...plain.signals.largest, ...plain.signals.smallest]).size - 81)).toBeLessThan(
      36,
    );
    // A sample ends a run of 3 or more with probability 1/25 on each side: 480 expected, about 25.
    expect(Math.abs(chart.runs.length - 480)).toBeLessThan(110);
  });

  test('limits move and scale with the readings; the order of the lanes only renames them', () => {
    fc.assert(
      fc.property(samplesWithGaps, (samples) => {
        const chart = groupChart(samples);
        const other = groupChart(
          samples.map((lanes) =>
            lanes.map((lane) => lane.map((one) => (one === null ? null : 1000 * one - 500))).toReversed(),
          ),
        );
        expect(other.available).toBe(chart.available);
        if (!chart.available || !other.available) return;
        chart.largest.points.forEach(({ value, limits }, index) => {
          const twin = other.largest.points[index]!;
          if (value === null || limits === null) {
            expect(twin.value).toBeNull();
            return;
          }
          // With sizes that differ, lanes equally far out may change places.
          if (limits.standardDeviation * 1000 - twin.limits!.standardDeviation > 1e-6) return;
          expect((twin.limits!.upperControlLimit! + 500) / 1000).toBeCloseTo(limits.upperControlLimit!, 8);
        });
      }),
      { numRuns: 40 },
    );
  });

  const two = [[[1], [2]]];
  test.each<[string, () => unknown, string, string]>([
    ['no sample', () => groupChart([]), 'samples', 'empty'],
    ['no lane', () => groupChart([[]]), 'samples.0', 'empty'],
    ['one lane', () => groupChart([[[1, 2]]]), 'samples.0', 'too-few-values'],
    ['lanes that come and go', () => groupChart([[[1], [2]], [[1]]]), 'samples.1', 'sizes-differ'],
    ['a reading that is none', () => groupChart([[[1], [Number.NaN]]]), 'samples.0.1.0', 'not-finite'],
    [
      'too many readings',
      () => groupChart([[[1], Array(101).fill(2)]], { standard }),
      'samples.0.1',
      'out-of-range',
    ],
    ['too few names', () => groupChart(two, { standard, lanes: ['A'] }), 'options.lanes', 'sizes-differ'],
    ['a run of one', () => groupChart(two, { standard, runLength: 1 }), 'options.runLength', 'out-of-range'],
    ['no width', () => groupChart(two, { standard, multiple: 0 }), 'options.multiple', 'out-of-range'],
    [
      'a standard of no width',
      () => groupNext(groupStart(), two[0]!, { standard: { mean: 1, withinSubgroupStandardDeviation: 0 } }),
      'settings.standard.withinSubgroupStandardDeviation',
      'out-of-range',
    ],
    [
      'a lane that does not exist',
      () =>
        groupNext(
          { index: 3, largest: { lane: 2, length: 1, probability: 1 }, smallest: groupStart().smallest },
          two[0]!,
          { standard },
        ),
      'state.largest.lane',
      'out-of-range',
    ],
    [
      'a run longer than the history',
      () =>
        groupNext(
          { index: 3, smallest: { lane: 1, length: 4, probability: 0.5 }, largest: groupStart().largest },
          two[0]!,
          { standard },
        ),
      'state.smallest.length',
      'out-of-range',
    ],
    [
      'a probability that is none',
      () =>
        groupNext(
          { index: 3, smallest: { lane: 1, length: 2, probability: 1.5 }, largest: groupStart().largest },
          two[0]!,
          { standard },
        ),
      'state.smallest.probability',
      'out-of-range',
    ],
    [
      'one column lane',
      () => groupColumns(Float64Array.of(1), { standard, laneCount: 1, subgroupSize: 1 }),
      'settings.laneCount',
      'out-of-range',
    ],
    [
      'half a sample',
      () => groupColumns(Float64Array.of(1, 2, 3), { standard, laneCount: 2, subgroupSize: 1 }),
      'readings',
      'sizes-differ',
    ],
    [
      'columns of another length',
      () =>
        groupColumns(
          Float64Array.of(1, 2, 3, 4),
          { standard, laneCount: 2, subgroupSize: 1 },
          groupColumns(Float64Array.of(1, 2), { standard, laneCount: 2, subgroupSize: 1 }),
        ),
      'columns.laneMeans',
      'sizes-differ',
    ],
  ])('refuses %s', (_, call, argument, code) => {
    expect(call).toThrow(expect.objectContaining({ argument, code }));
  });

  test('single readings need a given standard', () => {
    expect(groupChart(two)).toMatchObject({ available: false, reason: 'too-few-values' });
  });
});

describe('groupLimits', () => {
  test('one lane with the plain convention has the limits of any chart', () => {
    const { mean, range, meanFalseAlarmProbability } = groupLimits({ standard, lanes: 1, size: 4 });
    expect(mean.upperControlLimit).toBeCloseTo(10.3, 12);
    expect(range!.upperControlLimit).toBeCloseTo(0.2 * chartFactors(4).D2, 10);
    // P(|Z| > 3), any table of the normal distribution.
    expect(meanFalseAlarmProbability).toBeCloseTo(0.0026997960632602, 12);
  });

  test('more lanes need wider limits for the same false alarms', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 30 }),
        fc.integer({ min: 2, max: 8 }),
        fc.double({ min: 1e-6, max: 0.3, noNaN: true }),
        (lanes, size, falseAlarmProbability) => {
          const narrow = groupLimits({ standard, lanes, size, falseAlarmProbability });
          const wide = groupLimits({ standard, lanes: lanes + 1, size, falseAlarmProbability });
          expect(wide.mean.upperControlLimit!).toBeGreaterThan(narrow.mean.upperControlLimit!);
          expect(wide.range!.upperControlLimit!).toBeGreaterThan(narrow.range!.upperControlLimit!);
          expect(wide.meanFalseAlarmProbability).toBe(falseAlarmProbability);
          // The limits of the wanted probability, taken as a plain multiple, give that probability back.
          const multiple = (narrow.mean.upperControlLimit! - 10) / narrow.mean.standardDeviation;
          expect(groupLimits({ standard, lanes, size, multiple }).meanFalseAlarmProbability).toBeCloseTo(
            falseAlarmProbability,
            9,
          );
        },
      ),
      { numRuns: 40 },
    );
  });

  test.each([
    [{ lanes: 0, size: 2 }, 'lanes'],
    [{ lanes: 1001, size: 2 }, 'lanes'],
    [{ lanes: 2, size: 0 }, 'size'],
    [{ lanes: 2, size: 101 }, 'size'],
    [{ lanes: 2, size: 2, falseAlarmProbability: 0.6 }, 'falseAlarmProbability'],
    [{ lanes: 2, size: 2, falseAlarmProbability: 1e-10 }, 'falseAlarmProbability'],
    [{ lanes: 2, size: 2, multiple: 1001 }, 'multiple'],
  ])('refuses %j', (input, argument) => {
    expect(() => groupLimits({ standard, ...input })).toThrow(
      expect.objectContaining({ argument, code: 'out-of-range' }),
    );
  });

  test('limits beyond all numbers are refused', () => {
    const huge = { mean: 0, withinSubgroupStandardDeviation: 1e308 };
    expect(() => groupLimits({ standard: huge, lanes: 2, size: 1 })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'standard.withinSubgroupStandardDeviation' }),
    );
  });
});

describe('laneRunLength', () => {
  test('reproduces the run lengths that are printed (cited from memory)', () => {
    expect([3, 4, 5, 6, 7, 8, 9, 10].map((lanes) => laneRunLength(lanes).runLength)).toEqual([
      7, 6, 5, 5, 4, 4, 4, 4,
    ]);
  });

  test('with two lanes the one is largest where the other is smallest: both sides are one', () => {
    for (let runLength = 2; runLength < 30; runLength++) {
      const { averageRunLength, eitherSideAverageRunLength } = laneRunLength(2, { runLength });
      expect(eitherSideAverageRunLength / averageRunLength).toBeCloseTo(1, 10);
      expect(averageRunLength).toBe(2 ** runLength - 1);
    }
  });

  test('the shortest run that reaches what is wanted', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 100 }),
        fc.integer({ min: 5, max: 1_000_000 }),
        (lanes, wanted) => {
          const { runLength, averageRunLength, probability } = laneRunLength(lanes, {
            averageRunLength: wanted,
          });
          expect(averageRunLength).toBeGreaterThanOrEqual(wanted);
          if (runLength > 2)
            expect(laneRunLength(lanes, { runLength: runLength - 1 }).averageRunLength).toBeLessThan(wanted);
          expect(probability * lanes ** (runLength - 1)).toBeCloseTo(1, 10);
        },
      ),
      { numRuns: 60 },
    );
  });

  test('simulated runs take as long on average', () => {
    const { uniform } = randomSource(31);
    const wait = () => {
      let [top, bottom, a, b] = [-1, -1, 0, 0];
      for (let sample = 1; ; sample++) {
        const largest = Math.floor(4 * uniform());
        const smallest = (largest + 1 + Math.floor(3 * uniform())) % 4;
        a = largest === top ? a + 1 : 1;
        b = smallest === bottom ? b + 1 : 1;
        if (a === 3 || b === 3) return sample;
        [top, bottom] = [largest, smallest];
      }
    };
    let total = 0;
    for (let run = 0; run < 20000; run++) total += wait();
    // Standard error of the mean below 0.1.
    expect(
      Math.abs(total / 20000 - laneRunLength(4, { runLength: 3 }).eitherSideAverageRunLength),
    ).toBeLessThan(0.4);
  });

  test.each<[() => unknown, string, string]>([
    [() => laneRunLength(1), 'lanes', 'out-of-range'],
    [() => laneRunLength(2.5), 'lanes', 'not-an-integer'],
    [() => laneRunLength(3, { runLength: 61 }), 'options.runLength', 'out-of-range'],
    [() => laneRunLength(3, { averageRunLength: 1e10 }), 'options.averageRunLength', 'out-of-range'],
  ])('names the field', (call, argument, code) => {
    expect(call).toThrow(expect.objectContaining({ argument, code }));
  });
});

describe('distribution of the range', () => {
  test('agrees with tails computed in 40 digits from its definition', () => {
    // mpmath 1.4.1, quadrature of n ∫ φ {Q^(n−1) − [Q(x) − Q(x+w)]^(n−1)}.
    for (const [width, n, tail] of [
      [0.01, 2, 0.994358151179968],
      [0.1, 3, 0.997247180624868],
      [1, 2, 0.479500122186953],
      [3.5, 5, 0.0963384639654267],
      [6, 5, 0.000214242614331202],
      [8, 10, 6.89462222084388e-7],
      [5, 100, 0.478547706446987],
    ] as const)
      expect(rangeUpperTail(width, n) / tail).toBeCloseTo(1, 11);
    // The range of two values is √2 |Z|: 2 Q(w/√2), tail of the normal distribution at 26.87 (mpmath).
    expect(rangeUpperTail(38, 2) / 4.917722839256476e-159).toBeCloseTo(1, 9);
  });

  test('agrees with quantiles computed likewise', () => {
    for (const [tail, n, width] of [
      [0.5, 2, 0.953872552408939],
      [0.01, 5, 4.602821042201575],
      [1e-5, 4, 6.771914198681456],
      [0.999, 5, 0.3673920082142138],
      [0.0003375, 3, 5.454928583089346],
    ] as const)
      expect(rangeQuantile(tail, n) / width).toBeCloseTo(1, 10);
  });
});
