import fc from 'fast-check';
import { anyNumber, anyNumbers, everydayNumber, type FuzzedFunctions, mostly } from './hostile.ts';

const distributions = [
  'normal',
  'lognormal',
  'weibull',
  'gamma',
  'rayleigh',
  'exponential',
  'folded-normal',
  'johnson-su',
  'johnson-sb',
  'box-cox',
  'yeo-johnson',
];
const distribution = mostly(fc.constantFrom(...distributions), fc.constantFrom('', 'Weibull', 'toString'));

/** Values that a positive distribution can hold, in ordinary and in extreme units. */
const positiveNumbers = fc
  .tuple(
    fc.array(fc.double({ min: 0.001, max: 20, noNaN: true }), { minLength: 1, maxLength: 40 }),
    fc.constantFrom(1, 1, 1e-200, 1e200, 1e-308),
  )
  .map(([values, unit]) => values.map((value) => value * unit));
const wideNumbers = fc.array(
  fc.integer({ min: -300, max: 300 }).map((power) => 10 ** power),
  { minLength: 2, maxLength: 12 },
);
const nearlyConstant = fc
  .array(fc.nat({ max: 3 }), { minLength: 2, maxLength: 12 })
  .map((steps) => steps.map((step) => 1000 + step * 2 ** -40));
const values = fc.oneof(
  { weight: 4, arbitrary: positiveNumbers },
  { weight: 1, arbitrary: wideNumbers },
  { weight: 1, arbitrary: nearlyConstant },
  { weight: 3, arbitrary: anyNumbers },
);
const given = mostly(everydayNumber.map(Math.abs), anyNumber);
const fitted = fc.record({
  distribution,
  parameters: fc.record({
    mu: given,
    sigma: given,
    shape: given,
    scale: given,
    gamma: given,
    delta: given,
    xi: given,
    lambda: given,
  }),
});
const probability = mostly(fc.double({ min: 0.0001, max: 0.9999, noNaN: true }), anyNumber);
const power = mostly(fc.double({ min: -3, max: 3, noNaN: true }), anyNumber);
const method = mostly(fc.constantFrom('box-cox', 'yeo-johnson'), fc.constant('other'));

export const fuzzed: FuzzedFunctions = {
  fitDistribution: fc.tuple(
    values,
    fc.oneof(
      { weight: 3, arbitrary: fc.record({ distribution }) },
      {
        weight: 1,
        arbitrary: fc.record({
          distribution: fc.constantFrom('box-cox', 'yeo-johnson', 'gamma'),
          lambda: power,
        }),
      },
    ),
  ),
  distributionLowerTail: fc.tuple(fitted, anyNumber),
  distributionUpperTail: fc.tuple(fitted, anyNumber),
  distributionQuantile: fc.tuple(fitted, probability),
  fitPowerTransformation: fc.tuple(
    values,
    fc.record({ method, lambda: power, confidence: probability }, { requiredKeys: [] }),
  ),
  powerTransform: fc.tuple(anyNumber, fc.record({ method, lambda: power })),
  powerTransformBack: fc.tuple(anyNumber, fc.record({ method, lambda: power })),
  goodnessOfFit: fc.tuple(
    values,
    fc.record(
      { distribution, resamples: mostly(fc.integer({ min: 99, max: 120 }), anyNumber), seed: anyNumber },
      { requiredKeys: ['distribution', 'resamples'] },
    ),
  ),
  probabilityPlot: fc.tuple(
    mostly(fc.array(everydayNumber, { minLength: 1, maxLength: 12 }), anyNumbers),
    fc.record(
      {
        fitted,
        plottingPosition: mostly(fc.constantFrom('hazen', 'blom', 'median-rank'), fc.constant('mean')),
        confidence: probability,
      },
      { requiredKeys: ['fitted'] },
    ),
  ),
  rankDistributions: fc.tuple(
    values,
    fc.record({
      physics: mostly(
        fc.constantFrom('bounded-at-zero', 'position', 'wear', 'two-sided', 'unknown'),
        fc.constant('magic'),
      ),
    }),
  ),
};
