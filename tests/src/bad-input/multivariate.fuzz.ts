/** Hostile arguments for the charts of several characteristics. */
import fc from 'fast-check';
import { anyNumber, anyNumbers, everydayNumber, type FuzzedFunctions, mostly } from './hostile.ts';

const row = mostly(fc.array(everydayNumber, { minLength: 2, maxLength: 2 }), anyNumbers);
const everydayRows = (width: number) =>
  fc.array(fc.array(everydayNumber, { minLength: width, maxLength: width }), { minLength: 5, maxLength: 25 });
const rows = mostly(
  fc.oneof(everydayRows(1), everydayRows(2), everydayRows(3)),
  fc.array(anyNumbers, { maxLength: 8 }),
);
const subgroups = mostly(
  fc.array(
    fc.array(fc.array(everydayNumber, { minLength: 2, maxLength: 2 }), { minLength: 3, maxLength: 3 }),
    {
      minLength: 4,
      maxLength: 12,
    },
  ),
  fc.array(fc.array(anyNumbers, { maxLength: 4 }), { maxLength: 4 }),
);
const goodStandard = fc.constantFrom(
  {
    mean: [1, 2],
    covariance: [
      [1, 0.5],
      [0.5, 2],
    ],
    samplesUsed: 20,
    subgroupSize: 1,
    method: 'sample',
  },
  {
    mean: [1, 2],
    covariance: [
      [4, 1],
      [1, 1e-4],
    ],
    samplesUsed: null,
    subgroupSize: 1,
    method: 'given',
  },
  {
    mean: [1, 2],
    covariance: [
      [1, 1],
      [1, 1],
    ],
    samplesUsed: 20,
    subgroupSize: 1,
    method: 'successive-differences',
  },
  {
    mean: [1e100, 2],
    covariance: [
      [1e-300, 0],
      [0, 1e300],
    ],
    samplesUsed: 9,
    subgroupSize: 3,
    method: 'within-subgroup',
  },
);
const anyStandard = fc.record({
  mean: anyNumbers,
  covariance: fc.array(anyNumbers, { maxLength: 3 }),
  samplesUsed: fc.option(anyNumber),
  subgroupSize: anyNumber,
  method: fc.constantFrom('sample', 'successive-differences', 'given'),
});
const standard = mostly(goodStandard as fc.Arbitrary<unknown>, anyStandard);
const shared = {
  falseAlarmProbability: mostly(fc.constantFrom(0.0027, 0.01, 1e-9, 0.5), anyNumber),
  names: mostly(fc.constant<string[]>(['width', 'runout']), fc.constantFrom<string[]>([], ['x'])),
  phase: mostly(fc.constantFrom('first', 'second'), fc.constant('third')),
};
const settings = fc
  .tuple(standard, fc.record(shared, { requiredKeys: [] }))
  .map(([given, others]) => ({ standard: given, ...others }));
const { phase: _, ...chartShared } = shared;
const chartOptions = fc.record(
  {
    ...chartShared,
    standard,
    covariance: mostly(fc.constantFrom('sample', 'successive-differences'), fc.constant('x')),
  },
  { requiredKeys: [] },
);
const mewmaSettings = fc
  .tuple(
    standard,
    mostly(fc.double({ min: 1, max: 20, noNaN: true }), anyNumber),
    fc.record(
      {
        smoothing: mostly(fc.double({ min: 0.01, max: 1, noNaN: true }), anyNumber),
        limits: mostly(fc.constantFrom('time-varying', 'asymptotic'), fc.constant('x')),
        size: mostly(fc.integer({ min: 1, max: 5 }), anyNumber),
        names: shared.names,
      },
      { requiredKeys: [] },
    ),
  )
  .map(([given, upperControlLimit, others]) => ({ standard: given, upperControlLimit, ...others }));
const flat = mostly(
  fc.array(everydayNumber, { minLength: 2, maxLength: 40 }).map((values) => values.slice(values.length % 2)),
  anyNumbers,
).map((values) => Float64Array.from(values));
const columns = fc.constantFrom(undefined, { values: new Float64Array(3), beyondLimits: new Uint8Array(3) });
const state = mostly(
  fc.record({
    index: fc.nat(),
    vector: fc.array(everydayNumber, { minLength: 2, maxLength: 2 }),
  }) as fc.Arbitrary<unknown>,
  fc.record({ index: anyNumber, vector: anyNumbers }),
);
const design = {
  characteristics: mostly(fc.integer({ min: 1, max: 10 }), anyNumber),
  smoothing: mostly(fc.double({ min: 0.1, max: 1, noNaN: true }), anyNumber),
};

export const fuzzed: FuzzedFunctions = {
  multivariateStandard: fc.tuple(
    rows,
    fc.record({ covariance: fc.constantFrom('sample', 'successive-differences', 'x') }, { requiredKeys: [] }),
  ),
  multivariateStandardOfSubgroups: fc.tuple(subgroups),
  tSquaredLimits: fc.tuple(
    fc.record(
      {
        characteristics: mostly(fc.integer({ min: 1, max: 12 }), anyNumber),
        samplesUsed: mostly(fc.option(fc.integer({ min: 1, max: 60 })), anyNumber),
        subgroupSize: mostly(fc.integer({ min: 1, max: 10 }), anyNumber),
        phase: shared.phase,
        falseAlarmProbability: shared.falseAlarmProbability,
        covariance: fc.constantFrom('sample', 'successive-differences', 'x'),
      },
      { requiredKeys: ['characteristics', 'samplesUsed'] },
    ),
  ),
  tSquaredChart: fc.tuple(rows, chartOptions),
  tSquaredSubgroupChart: fc.tuple(subgroups, chartOptions),
  tSquaredPoint: fc.tuple(row, settings),
  tSquaredSubgroupPoint: fc.tuple(rows, settings),
  tSquaredColumns: fc.tuple(
    flat,
    fc
      .tuple(settings, mostly(fc.integer({ min: 1, max: 5 }), anyNumber))
      .map(([given, size]) => ({ ...given, size })),
    columns,
  ),
  tSquaredContributions: fc.tuple(
    row,
    standard,
    fc.record(
      { names: shared.names, size: mostly(fc.integer({ min: 1, max: 9 }), anyNumber) },
      { requiredKeys: [] },
    ),
  ),
  mewmaChart: fc.tuple(rows, mewmaSettings),
  mewmaStart: fc.tuple(mewmaSettings),
  mewmaNext: fc.tuple(state, row, mewmaSettings),
  mewmaColumns: fc.tuple(flat, mewmaSettings, columns),
  mewmaAverageRunLength: fc.tuple(
    fc.record(design),
    mostly(fc.double({ min: 1, max: 20, noNaN: true }), anyNumber),
  ),
  mewmaLimit: fc.tuple(
    fc.record({ ...design, averageRunLength: mostly(fc.integer({ min: 2, max: 1000 }), anyNumber) }),
  ),
};
