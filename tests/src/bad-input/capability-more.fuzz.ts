import fc from 'fast-check';
import { someSubgroups, specification, stability } from './capability.fuzz.ts';
import { anyNumber, anyNumbers, everydayNumber, type FuzzedFunctions, mostly } from './hostile.ts';

const confidence = mostly(fc.constantFrom(0.9, 0.95), anyNumber);
const index = mostly(fc.double({ min: 0.5, max: 2.5, noNaN: true }), anyNumber);
/** Few resamples, so that thousands of calls stay quick. */
const common = {
  confidence,
  resamples: mostly(fc.constant(100), fc.oneof(anyNumber, fc.constant(99))).filter(
    (n) => !(n > 1000 && n <= 20_000),
  ),
  seed: mostly(fc.nat({ max: 9 }), anyNumber),
  requiredIndex: index,
  stability,
};
const everydayValues = (minLength: number) => fc.array(everydayNumber, { minLength, maxLength: 40 });
const values = fc.oneof({ weight: 3, arbitrary: everydayValues(10) }, { weight: 2, arbitrary: anyNumbers });
const positiveValues = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.array(
      fc.integer({ min: 1, max: 900 }).map((n) => n / 100),
      { minLength: 8, maxLength: 40 },
    ),
  },
  { weight: 1, arbitrary: values },
);
const quickDistribution = mostly(
  fc.constantFrom(
    'normal',
    'lognormal',
    'weibull',
    'gamma',
    'rayleigh',
    'exponential',
    'folded-normal',
    'box-cox',
    'yeo-johnson',
  ),
  fc.constantFrom('', 'toString', 'johnson'),
);
const optional = (
  model: Readonly<Record<string, fc.Arbitrary<unknown>>>,
  requiredKeys: string[],
): fc.Arbitrary<unknown> => fc.record(model, { requiredKeys });
const position = fc.record({ x: mostly(everydayNumber, anyNumber), y: mostly(everydayNumber, anyNumber) });
const everydayPosition = fc.record({ x: everydayNumber, y: everydayNumber });
const positions = fc.oneof(
  { weight: 4, arbitrary: fc.array(everydayPosition, { minLength: 10, maxLength: 20 }) },
  { weight: 1, arbitrary: fc.array(position, { maxLength: 15 }) },
  {
    weight: 1,
    arbitrary: fc.array(
      anyNumber.map((x) => ({ x, y: 2 * x })),
      { minLength: 10, maxLength: 12 },
    ),
  },
  {
    weight: 1,
    arbitrary: fc.tuple(position, fc.integer({ min: 10, max: 12 })).map(([one, n]) => Array(n).fill(one)),
  },
);
const positionOptions = optional(
  { ...common, toleranceDiameter: mostly(fc.integer({ min: 1, max: 60 }), anyNumber) },
  ['toleranceDiameter', 'resamples'],
);

export const fuzzed: FuzzedFunctions = {
  attributeCapability: fc.tuple(
    fc.record({
      nonconforming: mostly(fc.integer({ min: 0, max: 40 }), anyNumber),
      inspected: mostly(fc.integer({ min: 1, max: 5000 }), anyNumber),
    }),
    optional(
      {
        confidence,
        equivalent: mostly(fc.constantFrom('one-limit', 'two-limits'), fc.constant('')),
        requiredIndex: index,
        stability,
      },
      [],
    ),
  ),
  attributeSampleSize: fc.tuple(
    mostly(fc.double({ min: 1e-9, max: 0.9, noNaN: true }), anyNumber),
    optional({ confidence, allowedNonconforming: mostly(fc.integer({ min: 0, max: 20 }), anyNumber) }, []),
  ),
  bootstrapIndex: fc.tuple(
    someSubgroups,
    specification,
    optional(
      {
        ...common,
        method: mostly(
          fc.constantFrom('range', 'standard-deviation', 'pooled', 'moving-range'),
          fc.constant(''),
        ),
        index: mostly(
          fc.constantFrom('cp', 'cpl', 'cpu', 'cpk', 'pp', 'ppl', 'ppu', 'ppk'),
          fc.constant('cpm'),
        ),
        bootstrap: mostly(fc.constantFrom('BCa', 'percentile'), fc.constant('')),
      },
      ['method', 'resamples'],
    ),
  ),
  distributionPerformance: fc.tuple(
    positiveValues,
    specification,
    optional({ ...common, distribution: quickDistribution }, ['distribution', 'resamples']),
  ),
  fractionOutsideCircle: fc.tuple(
    fc.record({
      meanX: mostly(everydayNumber, anyNumber),
      meanY: mostly(everydayNumber, anyNumber),
      varianceX: mostly(fc.double({ min: 1e-6, max: 100, noNaN: true }), anyNumber),
      varianceY: mostly(fc.double({ min: 1e-6, max: 100, noNaN: true }), anyNumber),
      covariance: mostly(fc.double({ min: -1e-3, max: 1e-3, noNaN: true }), anyNumber),
    }),
    mostly(fc.double({ min: 0.01, max: 50, noNaN: true }), anyNumber),
  ),
  indexSampleSize: fc.tuple(
    optional(
      {
        trueIndex: mostly(fc.double({ min: 1, max: 3, noNaN: true }), anyNumber),
        requiredIndex: mostly(fc.double({ min: 0, max: 2, noNaN: true }), anyNumber),
        index: mostly(fc.constantFrom('one-sided', 'tolerance'), fc.constant('')),
        confidence,
        power: mostly(fc.constantFrom(0.5, 0.8, 0.95), anyNumber),
      },
      ['trueIndex', 'requiredIndex'],
    ),
  ),
  machinePerformance: fc.tuple(
    fc.oneof({ weight: 3, arbitrary: fc.array(everydayNumber, { minLength: 30, maxLength: 60 }) }, values),
    specification,
    optional(
      {
        confidence,
        resamples: common.resamples,
        seed: common.seed,
        requiredIndex: index,
        distribution: mostly(fc.constantFrom('normal', 'normal', 'weibull'), fc.constant('')),
      },
      ['resamples'],
    ),
  ),
  patternPerformance: fc.tuple(
    fc.oneof(
      fc.array(fc.record({ name: fc.string(), positions }), { maxLength: 3 }),
      fc
        .array(fc.array(everydayPosition, { minLength: 12, maxLength: 12 }), { minLength: 1, maxLength: 3 })
        .map((holes) => holes.map((all, place) => ({ name: `hole ${place}`, positions: all }))),
    ),
    positionOptions,
  ),
  performanceOfParts: fc.tuple(
    values,
    specification,
    optional(
      {
        ...common,
        gaugeStandardDeviation: mostly(fc.double({ min: 1e-3, max: 6, noNaN: true }), anyNumber),
        gaugeDegreesOfFreedom: fc.option(mostly(fc.integer({ min: 1, max: 100 }), anyNumber), { freq: 4 }),
      },
      ['gaugeStandardDeviation', 'gaugeDegreesOfFreedom'],
    ),
  ),
  positionPerformance: fc.tuple(positions, positionOptions),
  streamPerformance: fc.tuple(
    fc.oneof(
      fc.array(fc.record({ name: fc.string(), values }), { maxLength: 4 }),
      fc
        .array(everydayValues(2), { minLength: 2, maxLength: 4 })
        .map((all) => all.map((one, place) => ({ name: `die ${place}`, values: one }))),
    ),
    specification,
    optional({ ...common, shares: fc.array(mostly(fc.constantFrom(1, 2), anyNumber), { maxLength: 4 }) }, [
      'resamples',
    ]),
  ),
  timeDependentModel: fc.tuple(
    fc.oneof(
      { weight: 1, arbitrary: someSubgroups },
      {
        weight: 3,
        arbitrary: fc.array(fc.array(everydayNumber, { minLength: 2, maxLength: 4 }), {
          minLength: 10,
          maxLength: 14,
        }),
      },
    ),
    fc.option(specification, { freq: 3 }),
    optional(
      {
        confidence,
        resamples: common.resamples,
        seed: common.seed,
        significance: mostly(fc.constantFrom(0.01, 0.05), anyNumber),
        distribution: quickDistribution,
        physics: mostly(fc.constantFrom('two-sided', 'wear'), fc.constant('')),
      },
      ['resamples', 'distribution'],
    ),
  ),
  toleranceIndexRatio: fc.tuple(
    optional(
      {
        sampleSize: mostly(fc.integer({ min: 1, max: 500 }), anyNumber),
        confidence,
        power: mostly(fc.constantFrom(0.5, 0.9, 0.99), anyNumber),
      },
      ['sampleSize'],
    ),
  ),
};
