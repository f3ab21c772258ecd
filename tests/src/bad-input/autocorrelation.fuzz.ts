/** Hostile arguments for autocorrelation and the residual chart. */
import fc from 'fast-check';
import { anyNumber, anyNumbers, everydayNumbers, type FuzzedFunctions, mostly } from './hostile.ts';

const values = mostly(everydayNumbers, anyNumbers);
const withGaps = mostly(
  fc.array(fc.option(fc.integer({ min: 0, max: 50 }), { freq: 6 }), { minLength: 5, maxLength: 30 }),
  anyNumbers,
);
const model = fc.record({
  mean: mostly(fc.double({ min: -10, max: 10, noNaN: true }), anyNumber),
  coefficient: mostly(fc.double({ min: -0.99, max: 0.99, noNaN: true }), anyNumber),
  residualStandardDeviation: mostly(fc.double({ min: 0.01, max: 10, noNaN: true }), anyNumber),
});
const multiple = mostly(fc.double({ min: 0.5, max: 6, noNaN: true }), anyNumber);
const settings = fc.record({ model, multiple }, { requiredKeys: ['model'] });
const state = fc.record({
  index: mostly(fc.nat(), anyNumber),
  deviation: mostly(fc.double({ min: -10, max: 10, noNaN: true }), anyNumber),
  gap: mostly(fc.constantFrom(null, 1, 2, 5), anyNumber),
});

export const fuzzed: FuzzedFunctions = {
  autocorrelations: fc.tuple(
    values,
    fc.record({ lags: mostly(fc.integer({ min: 1, max: 10 }), anyNumber) }, { requiredKeys: [] }),
  ),
  autocorrelationTest: fc.tuple(
    values,
    fc.record(
      {
        significance: mostly(fc.constantFrom(0.05, 0.5), anyNumber),
        permutations: mostly(fc.integer({ min: 0, max: 99 }), anyNumber),
        seed: anyNumber,
      },
      { requiredKeys: [] },
    ),
  ),
  falseAlarmsUnderAutocorrelation: fc.tuple(
    mostly(fc.double({ min: -0.99, max: 0.99, noNaN: true }), anyNumber),
    fc.record({ multiple }, { requiredKeys: [] }),
  ),
  fitAutoregression: fc.tuple(withGaps),
  residualChart: fc.tuple(withGaps, fc.record({ model, multiple }, { requiredKeys: [] })),
  residualStart: fc.tuple(settings),
  residualNext: fc.tuple(state, mostly(fc.integer({ min: -20, max: 20 }), fc.option(anyNumber)), settings),
  residualColumns: fc.tuple(
    values.map((given) => Float64Array.from(given)),
    settings,
    fc.constantFrom(undefined, { values: new Float64Array(3), beyondLimits: new Uint8Array(3) }),
  ),
};
