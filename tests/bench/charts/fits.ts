/** Fits of 100 000 values: what a person waits for, and the ratio to one pass over the same memory. */
import { functionsOf } from '../../../src/distribution-fit/families.ts';
import { type Distribution, type DistributionName, fitDistribution } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import type { ChartBench, TimedCalculation } from './chart-bench.ts';

const points = 100_000;

const examples: readonly Distribution[] = [
  { distribution: 'normal', parameters: { mu: 127, sigma: 0.18 } },
  { distribution: 'lognormal', parameters: { mu: -2.5, sigma: 0.3 } },
  { distribution: 'weibull', parameters: { shape: 2.2, scale: 0.4 } },
  { distribution: 'gamma', parameters: { shape: 3, scale: 0.02 } },
  { distribution: 'rayleigh', parameters: { sigma: 0.064 } },
  { distribution: 'exponential', parameters: { scale: 0.7 } },
  { distribution: 'folded-normal', parameters: { mu: 0.3, sigma: 0.2 } },
  { distribution: 'johnson-su', parameters: { gamma: -1, delta: 1.5, xi: 10, lambda: 1 } },
  { distribution: 'johnson-sb', parameters: { gamma: -0.5, delta: 0.8, xi: 2, lambda: 3 } },
  { distribution: 'box-cox', parameters: { lambda: 0.1, mu: -0.7, sigma: 0.33 } },
  { distribution: 'yeo-johnson', parameters: { lambda: 0.6, mu: 0.5, sigma: 0.6 } },
];

function sampleOf(example: Distribution): Float64Array {
  const random = randomSource(20250901);
  const { draw } = functionsOf(example);
  return Float64Array.from({ length: points }, () => draw(random));
}

/**
 * The least that any fit with quality of fit costs: sort a copy, and take the logarithm of two tails of each value once.
 * An iteration of the likelihood equations comes on top.
 */
function plainestFit(values: Float64Array): number {
  const sorted = Float64Array.from(values).sort();
  let sum = 0;
  for (let index = 0; index < sorted.length; index++) {
    const x = Math.abs(sorted[index]!) + 1;
    sum += Math.log(x) + Math.log1p(1 / x);
  }
  return sum;
}

const samples = examples.map((example) => [example.distribution, sampleOf(example)] as const);
const nameOf = (distribution: DistributionName) => `fit ${distribution} to 100 000 values`;

export const benches: readonly ChartBench[] = samples.map(([distribution, input]) => ({
  name: nameOf(distribution),
  points,
  input,
  run: () => {
    fitDistribution<DistributionName>(input, { distribution });
  },
  plain: () => {
    plainestFit(input);
  },
}));

export const timed: readonly TimedCalculation[] = samples.map(([distribution, input]) => ({
  name: nameOf(distribution),
  run: () => {
    fitDistribution<DistributionName>(input, { distribution });
  },
}));
