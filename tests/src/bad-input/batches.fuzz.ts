/** Hostile arguments for the charts of batches, lanes and acceptance, and for variance components. */
import fc from 'fast-check';
import { anyNumber, anyNumbers, everydayNumber, type FuzzedFunctions, mostly } from './hostile.ts';

const reading = fc.oneof(
  { weight: 12, arbitrary: everydayNumber },
  { weight: 1, arbitrary: fc.constant(null) },
);
const goodSubgroup = fc.array(reading, { minLength: 2, maxLength: 5 });
const anySubgroup = mostly(
  goodSubgroup,
  fc.oneof(
    anyNumbers,
    fc.array(fc.oneof(anyNumber, fc.constant(null)), { maxLength: 4 }),
    fc.constant(Array<number>(101).fill(1)),
  ),
);
const subgroups = fc.oneof(
  { weight: 6, arbitrary: fc.array(goodSubgroup, { minLength: 2, maxLength: 12 }) },
  { weight: 2, arbitrary: fc.array(anySubgroup, { maxLength: 6 }) },
);
const nested = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.array(fc.array(goodSubgroup, { minLength: 1, maxLength: 4 }), {
      minLength: 2,
      maxLength: 5,
    }),
  },
  {
    weight: 2,
    // Balanced.
    arbitrary: fc
      .tuple(fc.integer({ min: 1, max: 4 }), fc.integer({ min: 1, max: 3 }))
      .chain(([hours, pieces]) => {
        const piece = fc.oneof(
          { weight: 20, arbitrary: everydayNumber },
          { weight: 1, arbitrary: anyNumber },
        );
        const exactly = (length: number) => ({ minLength: length, maxLength: length });
        return fc.array(fc.array(fc.array(piece, exactly(pieces)), exactly(hours)), {
          minLength: 1,
          maxLength: 4,
        });
      }),
  },
  { weight: 1, arbitrary: fc.array(fc.array(anySubgroup, { maxLength: 3 }), { maxLength: 3 }) },
);

const positive = mostly(fc.constantFrom(0.01, 0.5, 1, 20), anyNumber);
const multiple = mostly(fc.constantFrom(1, 2.5, 3), anyNumber);
const bound = fc.oneof(fc.constant(null), anyNumber);
const within = mostly(fc.constantFrom('range', 'standard-deviation'), fc.constant('sd'));
const method = mostly(
  fc.constantFrom('range', 'standard-deviation', 'pooled', 'pooled-unbiased', 'range-minimum-variance'),
  fc.constantFrom('moving-range', 'other'),
);
const optional = <T>(fields: { [K in keyof T]: fc.Arbitrary<T[K]> }) =>
  fc.record(fields, { requiredKeys: [] });
const batchStandard = fc.record({
  mean: mostly(everydayNumber, anyNumber),
  withinSubgroupStandardDeviation: positive,
  meanStandardDeviation: fc.oneof(
    { weight: 9, arbitrary: positive },
    { weight: 1, arbitrary: fc.constant(null) },
  ),
});
const threeWay = {
  within,
  multiple,
  lowerNaturalBound: bound,
  upperNaturalBound: bound,
};

const standard = fc.record({
  mean: mostly(everydayNumber, anyNumber),
  withinSubgroupStandardDeviation: positive,
});
const convention = {
  multiple,
  falseAlarmProbability: mostly(fc.constantFrom(0.0027, 0.05, 1e-6), anyNumber),
};
const runLength = mostly(fc.integer({ min: 2, max: 8 }), anyNumber);
const names = mostly<string[]>(fc.constant(['A', 'B', 'C']), fc.constant(['A']));
const lanes = fc.array(anySubgroup, { minLength: 3, maxLength: 3 });
const laneSamples = fc.oneof(
  { weight: 4, arbitrary: fc.array(lanes, { minLength: 1, maxLength: 6 }) },
  { weight: 1, arbitrary: fc.array(fc.array(anySubgroup, { maxLength: 4 }), { maxLength: 4 }) },
);
const index = mostly(fc.nat({ max: 100 }), anyNumber);
const laneRun = fc.record({
  lane: fc.oneof(fc.constant(null), mostly(fc.nat({ max: 2 }), anyNumber)),
  length: mostly(fc.nat({ max: 9 }), anyNumber),
  probability: mostly(fc.constantFrom(1, 0.25, 1e-5), anyNumber),
});

const risk = mostly(fc.constantFrom(0.05, 0.1, 0.01), anyNumber);
const limitsFrom = mostly(
  fc.constantFrom('acceptable-level', 'rejectable-level'),
  fc.constant('elsewhere') as fc.Arbitrary<string>,
);
const levels = fc.oneof(
  fc.record({ fractionNonconforming: mostly(fc.constantFrom(0.0001, 0.01, 0.2, 0.5), anyNumber) }),
  fc.record(
    {
      lower: fc.oneof(fc.constant(null), everydayNumber, anyNumber),
      upper: fc.oneof(everydayNumber, anyNumber),
    },
    { requiredKeys: [] },
  ),
);
const specification = fc.record(
  {
    lowerSpecificationLimit: fc.oneof(fc.constant(null), fc.constantFrom(0, 9.5, -3), anyNumber),
    upperSpecificationLimit: fc.oneof(fc.constant(null), fc.constantFrom(10.5, 11, 30), anyNumber),
    target: fc.oneof(fc.constant(null), anyNumber),
    lowerNaturalBound: bound,
  },
  { requiredKeys: ['lowerSpecificationLimit', 'upperSpecificationLimit'] },
);
const side = (sign: number) =>
  fc.oneof(
    fc.constant(null),
    fc.constant({ acceptableLevel: 10 + sign, rejectableLevel: 10 + 2 * sign }),
    fc.record({ acceptableLevel: anyNumber, rejectableLevel: anyNumber }),
  );
const plan = fc.record({
  available: fc.constant(true),
  withinSubgroupStandardDeviation: positive,
  lower: side(-1),
  upper: side(1),
  alpha: risk,
  beta: risk,
  limitsFrom,
  sampleSize: mostly(fc.constantFrom(1, 2, 3, 50), anyNumber),
  lowerAcceptanceControlLimit: fc.constant(null),
  upperAcceptanceControlLimit: fc.constant(null),
  centerLine: mostly(everydayNumber, anyNumber),
  achievedAlpha: risk,
  achievedBeta: risk,
  keepsBothRisks: fc.boolean(),
});

const column = mostly(
  fc.array(everydayNumber, { minLength: 12, maxLength: 12 }),
  fc.oneof(anyNumbers, fc.constant(Array<number>(7).fill(1))),
).map((values) => Float64Array.from(values));

export const fuzzed: FuzzedFunctions = {
  nestedAnalysisOfVariance: fc.tuple(nested),
  nestedLikelihoodComponents: fc.tuple(nested),
  coilVariation: fc.tuple(nested, optional({ significance: risk })),
  threeWayChart: fc.tuple(subgroups, optional({ standard: batchStandard, method, ...threeWay })),
  threeWayStart: fc.tuple(),
  threeWayNext: fc.tuple(
    fc.record({ index, previousMean: fc.oneof(fc.constant(null), everydayNumber, anyNumber) }),
    anySubgroup,
    fc.record({ standard: batchStandard, ...threeWay }, { requiredKeys: ['standard'] }),
  ),
  threeWayColumns: fc.tuple(
    column,
    fc.record(
      { standard: batchStandard, subgroupSize: mostly(fc.constantFrom(2, 3, 4), anyNumber), ...threeWay },
      { requiredKeys: ['standard', 'subgroupSize'] },
    ),
  ),
  groupChart: fc.tuple(laneSamples, optional({ lanes: names, standard, method, runLength, ...convention })),
  groupStart: fc.tuple(),
  groupNext: fc.tuple(
    fc.record({ index, largest: laneRun, smallest: laneRun }),
    lanes,
    fc.record({ standard, lanes: names, runLength, ...convention }, { requiredKeys: ['standard'] }),
  ),
  groupColumns: fc.tuple(
    column,
    fc.record(
      {
        standard,
        laneCount: mostly(fc.constantFrom(2, 3), anyNumber),
        subgroupSize: mostly(fc.constantFrom(1, 2), anyNumber),
        ...convention,
      },
      { requiredKeys: ['standard', 'laneCount', 'subgroupSize'] },
    ),
  ),
  groupLimits: fc.tuple(
    fc.record(
      {
        standard,
        lanes: mostly(fc.integer({ min: 1, max: 40 }), anyNumber),
        size: mostly(fc.integer({ min: 1, max: 10 }), anyNumber),
        ...convention,
      },
      { requiredKeys: ['standard', 'lanes', 'size'] },
    ),
  ),
  laneRunLength: fc.tuple(
    mostly(fc.integer({ min: 2, max: 60 }), anyNumber),
    optional({ runLength, averageRunLength: mostly(fc.integer({ min: 1, max: 100000 }), anyNumber) }),
  ),
  acceptancePlan: fc.tuple(
    specification,
    fc.record(
      {
        withinSubgroupStandardDeviation: positive,
        acceptable: levels,
        rejectable: levels,
        alpha: risk,
        beta: risk,
        sampleSize: mostly(fc.integer({ min: 1, max: 30 }), anyNumber),
        limitsFrom,
      },
      { requiredKeys: ['withinSubgroupStandardDeviation', 'acceptable', 'rejectable'] },
    ),
  ),
  acceptanceProbability: fc.tuple(mostly(everydayNumber, anyNumber), plan),
  acceptanceChart: fc.tuple(subgroups, plan),
  acceptancePoint: fc.tuple(anySubgroup, plan),
  acceptanceColumns: fc.tuple(column, plan),
};
