import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type MultivariateStandard,
  multivariateStandard,
  multivariateStandardOfSubgroups,
  tSquaredChart,
  tSquaredColumns,
  tSquaredContributions,
  tSquaredPoint,
  tSquaredSubgroupChart,
  tSquaredSubgroupPoint,
} from '../../../src/index.ts';
import { chiSquareUpperTail } from '../../../src/numerics/chi-square.ts';
import { reading } from '../generators.ts';

/** Rows of two to four characteristics; more rows than a covariance needs. */
const observations = fc
  .integer({ min: 1, max: 4 })
  .chain((width) =>
    fc.array(fc.array(reading, { minLength: width, maxLength: width }), { minLength: 8, maxLength: 30 }),
  );
const given: MultivariateStandard = {
  mean: [10, 5],
  covariance: [
    [1, 0.9],
    [0.9, 1],
  ],
  samplesUsed: null,
  subgroupSize: 1,
  method: 'given',
};

function available<T>(outcome: { available: boolean } & T) {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<typeof outcome, { available: true }>;
}

describe('tSquaredChart', () => {
  test('the three routes agree to the last bit, in both phases', () => {
    fc.assert(
      fc.property(observations, fc.constantFrom(0.0027, 0.05, 0.3), (rows, falseAlarmProbability) => {
        const first = tSquaredChart(rows, { falseAlarmProbability });
        if (!first.available) return;
        const { standard } = first.basis;
        const later = rows.slice(0, 7).map((row) => row.map((x) => x + 0.3));
        for (const [chart, phase, data] of [
          [first, 'first', rows],
          [available(tSquaredChart(later, { standard, falseAlarmProbability })), 'second', later],
        ] as const) {
          const settings = { standard, phase, falseAlarmProbability };
          const columns = available(tSquaredColumns(Float64Array.from(data.flat()), settings));
          chart.points.forEach((point, index) => {
            const live = available(tSquaredPoint(data[index]!, settings));
            expect(live).toMatchObject({ ...point, index: 0 });
            expect(columns.values[index]).toBe(point.value);
            expect(columns.beyondLimits[index]).toBe(point.beyondLimits ? 1 : 0);
            expect(columns.upperControlLimit).toBe(point.limits!.upperControlLimit);
            expect(live.contributions === null).toBe(!point.beyondLimits);
          });
          expect(chart.contributions).toHaveLength(chart.signals.length);
        }
      }),
      { numRuns: 40 },
    );
  });

  test('subgroups: the three routes agree', () => {
    const rows = fc.array(
      fc.array(fc.array(reading, { minLength: 2, maxLength: 2 }), { minLength: 3, maxLength: 3 }),
      {
        minLength: 5,
        maxLength: 15,
      },
    );
    fc.assert(
      fc.property(rows, (subgroups) => {
        const chart = tSquaredSubgroupChart(subgroups, { falseAlarmProbability: 0.1 });
        if (!chart.available) return;
        const settings = {
          standard: chart.basis.standard,
          phase: 'first',
          falseAlarmProbability: 0.1,
        } as const;
        const means = subgroups.flatMap((subgroup) =>
          [0, 1].map((j) => available(multivariateStandard(subgroup)).mean[j]!),
        );
        const columns = available(tSquaredColumns(Float64Array.from(means), { ...settings, size: 3 }));
        chart.points.forEach((point, index) => {
          expect(available(tSquaredSubgroupPoint(subgroups[index]!, settings))).toMatchObject({
            ...point,
            index: 0,
          });
          expect(columns.values[index]).toBe(point.value);
        });
      }),
      { numRuns: 40 },
    );
  });

  test('other units, another order of the characteristics or a mixture of them leave T² alone', () => {
    fc.assert(
      fc.property(observations, (rows) => {
        const here = tSquaredChart(rows);
        if (!here.available) return;
        const scaled = available(tSquaredChart(rows.map((row) => row.map((x, j) => x * 1000 ** j - 7))));
        const turned = available(tSquaredChart(rows.map((row) => row.toReversed())));
        const mixed = available(
          tSquaredChart(rows.map((row) => row.map((x, j) => x + (j > 0 ? row[0]! : 0)))),
        );
        here.points.forEach(({ value }, index) => {
          for (const other of [scaled, turned, mixed])
            expect(other.points[index]!.value).toBeCloseTo(value!, 6);
        });
      }),
    );
  });

  test('T² of the baseline adds up to p(m − 1)', () => {
    fc.assert(
      fc.property(observations, (rows) => {
        const chart = tSquaredChart(Object.freeze(rows.map((row) => Object.freeze(row))));
        if (!chart.available) return;
        const sum = chart.points.reduce((total, { value }) => total + value!, 0);
        expect(sum).toBeCloseTo(rows[0]!.length * (rows.length - 1), 6);
      }),
    );
  });

  test('a point exactly on the limit is inside, the next number beyond', () => {
    const { upperControlLimit } = available(
      tSquaredPoint([10], { standard: { ...given, mean: [10], covariance: [[1]] } }),
    ).limits!;
    const standard = { ...given, mean: [0], covariance: [[1]] };
    const edge = Math.sqrt(upperControlLimit!);
    expect(tSquaredPoint([edge * (1 - 1e-12)], { standard })).toMatchObject({
      beyondLimits: false,
      contributions: null,
    });
    expect(tSquaredPoint([edge * (1 + 1e-12)], { standard })).toMatchObject({ beyondLimits: true });
    // p = 1 and known: T² is z², so the limit is that of 3 standard deviations' probability.
    expect(chiSquareUpperTail(upperControlLimit!, 1)).toBeCloseTo(0.0027, 10);
  });

  test('names go through to the basis and to the sentences', () => {
    const chart = available(tSquaredChart([[11, 4.4]], { standard: given, names: ['width', 'runout'] }));
    expect(chart.basis).toEqual({
      standard: given,
      phase: 'second',
      falseAlarmProbability: 0.0027,
      names: ['width', 'runout'],
      exact: true,
    });
    expect(chart.statistic).toBe('T squared');
    expect(chart.signals).toEqual([0]);
    expect(chart.contributions[0]!.message).toBe(
      'width contributes most: without it T² falls from 12.8 to 0.36. By itself it is within three standard deviations, but it does not fit the other characteristics. Measure width again, then look for what changed its relation to them.',
    );
    expect(available(tSquaredPoint([0, 5], { standard: given })).contributions!.message).toMatch(
      /^characteristic 1 contributes most: .*, and it lies 10 standard deviations from its own mean\. Look at characteristic 1 first\.$/,
    );
  });

  test('a limit from successive differences is called an approximation', () => {
    const rows = Array.from({ length: 30 }, (_, i) => [Math.sin(i * i), Math.cos(3 * i * i)]);
    expect(available(tSquaredChart(rows, { covariance: 'successive-differences' })).basis.exact).toBe(false);
    expect(available(tSquaredChart(rows)).basis.exact).toBe(true);
  });

  test.each([
    [
      [
        [1, 2],
        [2, 4],
        [4, 8],
        [3, 6],
      ],
      'characteristic 2 follows exactly from the other characteristics.',
    ],
    [
      [
        [1, 2, 3],
        [2, 1, 3],
        [4, 4, 8],
        [3, 0, 3],
        [9, 1, 10],
      ],
      'characteristic 3 follows exactly',
    ],
    [
      [
        [1, 5],
        [2, 5],
        [4, 5],
        [3, 5],
      ],
      'characteristic 2 does not vary.',
    ],
    [
      [
        [1, 2, 3],
        [2, 2, 1],
        [4, 1, 5],
      ],
      '3 observations are too few to tell 3 characteristics apart.',
    ],
    [
      [
        [1, 2, 3],
        [2, 2, 1],
        [4, 1, 5],
        [0, 3, 3],
      ],
      '4 observations are too few for a limit for 3 characteristics.',
    ],
  ])('%j has no chart: %s', (rows, words) => {
    expect(tSquaredChart(rows)).toMatchObject({
      available: false,
      reason: 'singular-covariance',
      message: expect.stringContaining(words),
    });
  });

  test('subgroups too few or too small are named', () => {
    expect(tSquaredSubgroupChart([[[1, 2]], [[2, 1]]])).toMatchObject({ reason: 'too-few-values' });
    expect(
      tSquaredSubgroupChart([
        [
          [1, 2, 3],
          [2, 2, 1],
        ],
        [
          [4, 1, 5],
          [0, 3, 3],
        ],
      ]),
    ).toMatchObject({
      reason: 'singular-covariance',
      message:
        '2 subgroups of 2 are too few to tell 3 characteristics apart. Measure more parts, or chart fewer characteristics.',
    });
    expect(multivariateStandard([[1, 2]])).toMatchObject({ reason: 'too-few-values' });
    expect(tSquaredChart([[1, 2]])).toMatchObject({ reason: 'too-few-values' });
  });

  test('very different units still have a chart', () => {
    const rows = Array.from({ length: 12 }, (_, i) => [1e-120 * Math.sin(i), 1e120 * Math.cos(2 * i)]);
    expect(available(tSquaredChart(rows)).points[3]!.value).toBeCloseTo(
      available(tSquaredChart(rows.map(([a, b]) => [a! * 1e120, b! / 1e120]))).points[3]!.value!,
      9,
    );
  });

  test.each([
    [[], {}, 'empty', 'observations'],
    [[[]], {}, 'empty', 'observations.0'],
    [[[1, 2], [1]], {}, 'sizes-differ', 'observations.1'],
    [
      [
        [1, 2],
        [1, Number.NaN],
      ],
      {},
      'not-finite',
      'observations.1.1',
    ],
    [[[1, 2, 3]], { standard: given }, 'sizes-differ', 'observations.0'],
    [
      [
        [1, 2],
        [2, 1],
        [3, 3],
        [4, 0],
        [1, 1],
      ],
      { falseAlarmProbability: 0.6 },
      'out-of-range',
      'options.falseAlarmProbability',
    ],
    [
      [
        [1, 2],
        [2, 1],
        [3, 3],
        [4, 0],
        [1, 1],
      ],
      { names: ['x'] },
      'sizes-differ',
      'options.names',
    ],
    [
      [
        [1, 2],
        [2, 1],
      ],
      { covariance: 'x' },
      'unknown-name',
      'options.covariance',
    ],
    [
      [
        [1e200, 2],
        [-1e200, 1],
      ],
      {},
      'out-of-range',
      'observations',
    ],
    [
      [[1, 2]],
      {
        standard: {
          ...given,
          covariance: [
            [1, 0.9],
            [0.8, 1],
          ],
        },
      },
      'out-of-range',
      'options.standard.covariance.1.0',
    ],
    [
      [[1, 2]],
      {
        standard: {
          ...given,
          covariance: [
            [1, 0.9],
            [0.9, -1],
          ],
        },
      },
      'out-of-range',
      'options.standard.covariance.1.1',
    ],
    [
      [[1, 2]],
      { standard: { ...given, covariance: [[1, 0.9]] } },
      'sizes-differ',
      'options.standard.covariance',
    ],
    [[[1, 2]], { standard: { ...given, samplesUsed: 0 } }, 'out-of-range', 'options.standard.samplesUsed'],
    [
      [[1, 2]],
      { standard: { ...given, subgroupSize: 1.5 } },
      'not-an-integer',
      'options.standard.subgroupSize',
    ],
    [
      [
        [1, 2],
        [1e300, 2],
      ],
      { standard: given },
      'out-of-range',
      'observations.1',
    ],
    [[new Array(101).fill(1)], {}, 'out-of-range', 'observations.0.length'],
  ])('case %#: %j with %j is refused: %s at %s', (rows, options, code, argument) => {
    expect(() => tSquaredChart(rows as number[][], options as never)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });
});

test.each([
  [() => tSquaredPoint([1, Number.NaN], { standard: given }), 'not-finite', 'observation.1'],
  [() => tSquaredPoint([1], { standard: given }), 'sizes-differ', 'observation'],
  [() => tSquaredPoint([1e300, 0], { standard: given }), 'out-of-range', 'observation'],
  [() => tSquaredPoint([1, 2], { standard: given, names: [] }), 'sizes-differ', 'settings.names'],
  [() => tSquaredSubgroupPoint([], { standard: given }), 'empty', 'subgroup'],
  [
    () =>
      tSquaredSubgroupPoint(
        [
          [1, 2],
          [Infinity, 2],
        ],
        { standard: given },
      ),
    'not-finite',
    'subgroup.1.0',
  ],
  [() => tSquaredSubgroupPoint([[1e300, 2]], { standard: given }), 'out-of-range', 'subgroup'],
  [() => tSquaredSubgroupChart([[[1, 2]], [[1e300, 2]]], { standard: given }), 'out-of-range', 'subgroups.1'],
  [() => tSquaredContributions([1, 2, 3], given), 'sizes-differ', 'observation'],
  [() => tSquaredContributions([1e300, 2], given), 'out-of-range', 'observation'],
  [() => tSquaredContributions([1, 2], given, { names: ['x'] }), 'sizes-differ', 'options.names'],
  [() => tSquaredContributions([1, 2], given, { size: 0 }), 'out-of-range', 'options.size'],
  [() => tSquaredContributions([1, 2], { ...given, mean: [] }), 'empty', 'standard.mean'],
  [
    () => tSquaredColumns(Float64Array.of(1, 2), { standard: given, size: 0 }),
    'out-of-range',
    'settings.size',
  ],
])('live use, case %#, is refused: %s at %s', (call, code, argument) => {
  expect(call).toThrowError(expect.objectContaining({ code, argument }));
});

describe('tSquaredColumns', () => {
  test('fills the columns that were passed in', () => {
    const columns = { values: new Float64Array(5), beyondLimits: new Uint8Array(5).fill(9) };
    const data = Float64Array.of(10, 5, 11, 4, 10, 5, 20, 5, 10.5, 5.5);
    const filled = available(tSquaredColumns(data, { standard: given }, columns));
    expect(filled.values).toBe(columns.values);
    expect([...columns.beyondLimits]).toEqual([0, 1, 0, 1, 0]);
    expect(columns.values[1]).toBeCloseTo(20, 10);
  });

  test.each([
    [Float64Array.of(), 'empty', 'observations', undefined],
    [Float64Array.of(1, 2, 3), 'sizes-differ', 'observations', undefined],
    [Float64Array.of(1, 2, 3, 4), 'sizes-differ', 'columns.values', [1, 2]],
    [Float64Array.of(1, 2, 3, 4), 'sizes-differ', 'columns.beyondLimits', [2, 1]],
    [Float64Array.of(1, 2, 3, Infinity), 'not-finite', 'observations.3', undefined],
    [Float64Array.of(1, 2, 3, 4, 5, 6, 7, 8, 9, Number.NaN), 'not-finite', 'observations.9', undefined],
    [Float64Array.of(1, 2, 1e200, 4), 'out-of-range', 'observations.2', undefined],
  ])('%j is refused: %s at %s', (data, code, argument, lengths) => {
    const columns = lengths && {
      values: new Float64Array(lengths[0]!),
      beyondLimits: new Uint8Array(lengths[1]!),
    };
    expect(() => tSquaredColumns(data, { standard: given }, columns)).toThrowError(
      expect.objectContaining({ code, argument }),
    );
  });
});

describe('multivariateStandard', () => {
  test('of subgroups of two: half the squared difference, averaged', () => {
    const standard = available(
      multivariateStandardOfSubgroups([
        [
          [1, 0],
          [3, 0],
        ],
        [
          [5, 1],
          [5, 3],
        ],
      ]),
    );
    expect(standard).toMatchObject({
      mean: [3.5, 1],
      samplesUsed: 2,
      subgroupSize: 2,
      method: 'within-subgroup',
    });
    expect(standard.covariance).toEqual([
      [1, 0],
      [0, 1],
    ]);
  });

  test('a step of the level hardly widens the covariance from successive differences', () => {
    const rows = Array.from({ length: 40 }, (_, i) => [Math.sin(7 * i * i) + (i < 20 ? 0 : 10)]);
    expect(available(multivariateStandard(rows)).covariance[0]![0]).toBeGreaterThan(25);
    const differences = available(multivariateStandard(rows, { covariance: 'successive-differences' }));
    expect(differences.covariance[0]![0]).toBeLessThan(2.5);
    expect(differences.method).toBe('successive-differences');
  });

  test('subgroups of different sizes are refused', () => {
    expect(() =>
      multivariateStandardOfSubgroups([
        [
          [1, 2],
          [2, 1],
        ],
        [[1, 2]],
      ]),
    ).toThrowError(expect.objectContaining({ code: 'sizes-differ', argument: 'subgroups.1' }));
    expect(() => multivariateStandardOfSubgroups([[]])).toThrowError(
      expect.objectContaining({ code: 'empty', argument: 'subgroups.0' }),
    );
    expect(() => multivariateStandardOfSubgroups([])).toThrowError(
      expect.objectContaining({ code: 'empty', argument: 'subgroups' }),
    );
  });
});

describe('tSquaredContributions', () => {
  test('conditional is what T² loses, unconditional the own squared distance', () => {
    fc.assert(
      fc.property(observations, (rows) => {
        const standard = multivariateStandard(rows);
        if (!standard.available) return;
        const all = tSquaredContributions(rows[0]!, standard, { size: 2 });
        if (!all.available || all.tSquared > 1e3) return;
        const without = (values: readonly number[], j: number) => values.filter((_, place) => place !== j);
        all.characteristics.forEach(({ conditional, unconditional }, j) => {
          const deviation = rows[0]![j]! - standard.mean[j]!;
          expect(unconditional).toBeCloseTo((2 * deviation ** 2) / standard.covariance[j]![j]!, 8);
          if (rows[0]!.length === 1) {
            expect(conditional).toBeCloseTo(all.tSquared, 8);
            return;
          }
          const rest = available(
            tSquaredContributions(
              without(rows[0]!, j),
              {
                ...standard,
                mean: without(standard.mean, j),
                covariance: without(standard.covariance as never, j).map((row) => without(row as never, j)),
              },
              { size: 2 },
            ),
          );
          expect(conditional).toBeCloseTo(all.tSquared - rest.tSquared, 5);
        });
      }),
    );
  });

  test('without correlation the contributions add up to T², and a tie goes to the first', () => {
    const standard = {
      ...given,
      covariance: [
        [4, 0],
        [0, 9],
      ],
    };
    const { tSquared, characteristics, largest } = available(tSquaredContributions([14, 11], standard));
    expect(tSquared).toBeCloseTo(8, 12);
    expect(characteristics.map(({ conditional }) => conditional)).toEqual([4, 4]);
    expect(characteristics.map(({ name }) => name)).toEqual(['characteristic 1', 'characteristic 2']);
    expect(largest).toBe('characteristic 1');
    expect(available(tSquaredContributions([14, 11.1], standard)).largest).toBe('characteristic 2');
  });
});
