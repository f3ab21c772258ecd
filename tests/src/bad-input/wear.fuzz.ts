/** Hostile arguments for the wear line, its crossing and its chart. */
import fc from 'fast-check';
import { anyNumber, anyNumbers, everydayNumber, type FuzzedFunctions, mostly } from './hostile.ts';

const hits = fc.oneof({ weight: 40, arbitrary: fc.nat({ max: 30000 }) }, { weight: 1, arbitrary: anyNumber });
const value = fc.oneof({ weight: 40, arbitrary: everydayNumber }, { weight: 1, arbitrary: anyNumber });
const tool = fc.oneof({ weight: 40, arbitrary: fc.nat({ max: 2 }) }, { weight: 1, arbitrary: anyNumber });
const samples = fc.oneof(
  { weight: 5, arbitrary: fc.array(fc.record({ hits, value, tool }), { minLength: 1, maxLength: 20 }) },
  {
    weight: 1,
    arbitrary: fc.array(fc.record({ hits: anyNumber, value: anyNumber, tool: fc.nat({ max: 1 }) }), {
      maxLength: 8,
    }),
  },
);
const multiple = mostly(fc.constantFrom(1, 3), anyNumber);
const positive = mostly(fc.constantFrom(0.01, 1), anyNumber);
const slope = mostly(fc.constantFrom(0.001, -2, 0), anyNumber);
const column = mostly(fc.array(everydayNumber, { minLength: 4, maxLength: 4 }), anyNumbers).map((values) =>
  Float64Array.from(values),
);
const hitColumn = mostly(
  fc.array(fc.nat({ max: 3000 }), { minLength: 4, maxLength: 4 }) as fc.Arbitrary<number[]>,
  anyNumbers,
).map((values) => Float64Array.from(values));

/** A line as wearLine returns it, or one that was tampered with on its way. */
const line = fc.record({
  available: fc.constant(true),
  method: fc.constant('analysis of covariance'),
  samples: fc.constant(20),
  slope,
  slopeStandardError: positive,
  slopeT: fc.constant(5),
  slopePValue: fc.constant(0.001),
  residualStandardDeviation: positive,
  degreesOfFreedom: mostly(fc.constant(18), anyNumber),
  withinSumOfSquares: mostly(fc.constantFrom(1e6, 10), anyNumber),
  cycles: fc.array(
    fc.record({
      tool: fc.nat({ max: 1 }),
      samples: mostly(fc.constant(10), anyNumber),
      intercept: mostly(everydayNumber, anyNumber),
      meanHits: mostly(fc.constant(500), anyNumber),
      meanValue: mostly(everydayNumber, anyNumber),
      lastHits: mostly(fc.constant(900), anyNumber),
    }),
    { maxLength: 2 },
  ),
  currentTool: fc.nat({ max: 1 }),
  slopeHomogeneity: fc.constant(null),
});

export const fuzzed: FuzzedFunctions = {
  wearLine: fc.tuple(samples),
  wearCrossing: fc.tuple(
    line,
    fc.record(
      {
        limit: mostly(everydayNumber, anyNumber),
        side: mostly(fc.constantFrom('upper', 'lower'), fc.constant('left') as fc.Arbitrary<string>),
        confidence: mostly(fc.constantFrom(0.9, 0.99), anyNumber),
      },
      { requiredKeys: ['limit'] },
    ),
  ),
  toolWearChart: fc.tuple(samples, fc.record({ multiple }, { requiredKeys: [] })),
  toolWearPoint: fc.tuple(
    fc.record({ hits, value: fc.oneof(value, fc.constant(null)) }),
    fc.record(
      { slope, intercept: value, residualStandardDeviation: positive, multiple },
      { requiredKeys: ['slope', 'intercept', 'residualStandardDeviation'] },
    ),
  ),
  toolWearColumns: fc.tuple(
    hitColumn,
    column,
    mostly<number[]>(fc.constant([0, 0, 1, 1]), fc.constantFrom([0, 0, 1, 7], [0])).map((cycles) =>
      Uint32Array.from(cycles),
    ),
    fc.record(
      {
        slope,
        intercepts: mostly<number[]>(fc.constant([5, 5.1]), anyNumbers),
        residualStandardDeviation: positive,
        multiple,
      },
      { requiredKeys: ['slope', 'intercepts', 'residualStandardDeviation'] },
    ),
  ),
};
