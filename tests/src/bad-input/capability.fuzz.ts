import fc from 'fast-check';
import {
  anyNumber,
  anyNumbers,
  everydayNumber,
  everydayNumbers,
  type FuzzedFunctions,
  mostly,
} from './hostile.ts';

const orNull = (number: fc.Arbitrary<number>) => fc.option(number, { freq: 3 });
const wholeSize = mostly(fc.integer({ min: 1, max: 200 }), anyNumber);
const confidence = mostly(fc.constantFrom(0.9, 0.95, 0.99), anyNumber);

/** Limits on either side of the everyday values, one missing, reversed or hostile. */
export const specification = fc.record(
  {
    lowerSpecificationLimit: orNull(mostly(fc.integer({ min: -20, max: 0 }), anyNumber)),
    upperSpecificationLimit: orNull(mostly(fc.integer({ min: 10, max: 30 }), anyNumber)),
    target: orNull(mostly(fc.integer({ min: -20, max: 30 }), anyNumber)),
    lowerNaturalBound: orNull(mostly(fc.constant(-20), anyNumber)),
    upperNaturalBound: orNull(mostly(fc.constant(30), anyNumber)),
  },
  { requiredKeys: ['lowerSpecificationLimit', 'upperSpecificationLimit'] },
);

export const stability = fc.option(
  fc.record(
    {
      points: mostly(fc.integer({ min: 0, max: 100 }), anyNumber),
      signals: mostly(fc.integer({ min: 0, max: 5 }), anyNumber),
      expectedFalseSignals: mostly(fc.constantFrom(0, 0.07, 1.5), anyNumber),
      farthestDeviation: mostly(fc.constantFrom(0, 2.5, 5), anyNumber),
    },
    { requiredKeys: ['points', 'signals', 'expectedFalseSignals'] },
  ),
  { freq: 4 },
);

export const someSubgroups = fc.oneof(
  fc.array(everydayNumbers, { minLength: 1, maxLength: 12 }),
  fc.array(fc.array(fc.option(everydayNumber, { freq: 6 }), { maxLength: 5 }), { maxLength: 20 }),
  fc.array(anyNumbers, { maxLength: 6 }),
  fc.array(
    everydayNumber.map((value) => [value]),
    { maxLength: 30 },
  ),
);

const interval = fc.record(
  {
    sampleSize: wholeSize,
    degreesOfFreedom: mostly(fc.double({ min: 0.5, max: 300 }), anyNumber),
    confidence,
  },
  { requiredKeys: ['sampleSize'] },
);
const index = mostly(fc.double({ min: -2, max: 5, noNaN: true }), anyNumber);
const intervalBounds = fc.record({ lowerBound: index, upperBound: index });

export const fuzzed: FuzzedFunctions = {
  capability: fc.tuple(
    someSubgroups,
    specification,
    fc.record(
      {
        method: mostly(
          fc.constantFrom(
            'range',
            'standard-deviation',
            'range-minimum-variance',
            'standard-deviation-minimum-variance',
            'pooled',
            'pooled-unbiased',
            'moving-range',
          ),
          fc.constantFrom('', 'given', 'toString'),
        ),
        confidence,
        cpmFrom: mostly(fc.constantFrom('sample-variance', 'mean-square'), fc.constant('')),
      },
      { requiredKeys: ['method'] },
    ),
  ),
  capabilityVerdict: fc.tuple(
    fc.record(
      {
        capability: fc.oneof(
          fc.constant({ available: false, reason: 'no-variation', message: 'All readings are equal.' }),
          fc
            .record({ sampleSize: fc.integer({ min: 2, max: 300 }), estimate: index, bounds: intervalBounds })
            .map(({ sampleSize, estimate, bounds }) => {
              const one = { ...bounds, estimate, sampleSize, confidence: 0.95, method: 'Bissell' };
              return { available: true, sampleSize, cp: one, pp: null, cpk: one, ppk: one };
            }),
        ),
        normality: fc.constantFrom(
          { available: false, reason: 'too-few-values', message: 'There are too few values.' },
          { available: true, adjustedStatistic: 0.4, pValue: 0.3 },
          { available: true, adjustedStatistic: 4, pValue: 1e-9 },
        ),
        stability,
        chartCannotJudge: fc.option(fc.constant('It has no limits.'), { freq: 1 }),
      },
      { requiredKeys: ['capability', 'normality', 'stability'] },
    ),
    fc.record(
      {
        requiredIndex: index,
        index: fc.constantFrom('cpk', 'ppk'),
        fewestReadings: mostly(fc.constant(30), anyNumber),
        fewestPoints: mostly(fc.constant(20), anyNumber),
        significance: mostly(fc.constant(0.01), anyNumber),
      },
      { requiredKeys: [] },
    ),
  ),
  estimateNeeded: fc.tuple(index, interval),
  oneSidedIndexInterval: fc.tuple(index, interval),
  smallestIndexInterval: fc.tuple(
    index,
    fc.record(
      {
        sampleSize: wholeSize,
        confidence,
        method: mostly(fc.constantFrom('Bissell', 'Heavlin'), fc.constant('')),
      },
      { requiredKeys: ['sampleSize'] },
    ),
  ),
  targetIndexInterval: fc.tuple(index, index, interval),
  toleranceIndexInterval: fc.tuple(index, interval),
  percentileIndices: fc.tuple(
    fc.record({
      lowerPercentile: mostly(fc.double({ min: -5, max: 1, noNaN: true }), anyNumber),
      median: mostly(fc.double({ min: 1, max: 5, noNaN: true }), anyNumber),
      upperPercentile: mostly(fc.double({ min: 5, max: 50, noNaN: true }), anyNumber),
    }),
    specification,
  ),
};
