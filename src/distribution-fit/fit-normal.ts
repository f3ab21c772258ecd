import type { DistributionFamily } from './distribution-family.ts';
import { momentsOf } from './moments-of.ts';
import { throughNormal } from './through-normal.ts';

/** Source: ISO 3534-1, normal distribution; the largest likelihood is at the mean and the divisor n. */
export const normalFamily: DistributionFamily<'normal'> = {
  title: 'a normal distribution',
  parameterCount: 2,
  fewestValues: 2,
  holds: 'any',
  positive: ['sigma'],
  names: ['mu', 'sigma'],
  fit: (sorted) => {
    const { mean, rootMeanSquare } = momentsOf(sorted);
    return { mu: mean, sigma: rootMeanSquare };
  },
  functions: ({ mu, sigma }) =>
    throughNormal({
      score: (x) => (x - mu) / sigma,
      logSlope: () => -Math.log(sigma),
      value: (z) => mu + sigma * z,
    }),
};
