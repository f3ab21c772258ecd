import type { DistributionFamily } from './distribution-family.ts';
import { logsOf } from './logs-of.ts';
import { momentsOf } from './moments-of.ts';
import { throughNormal } from './through-normal.ts';

/** Source: ISO 3534-1, lognormal distribution: the normal fit of ln x. */
export const lognormalFamily: DistributionFamily<'lognormal'> = {
  title: 'a lognormal distribution',
  parameterCount: 2,
  fewestValues: 2,
  holds: 'above-zero',
  positive: ['sigma'],
  names: ['mu', 'sigma'],
  fit: (sorted) => {
    const reference = sorted[sorted.length >> 1]!;
    const { mean, rootMeanSquare } = momentsOf(logsOf(sorted, reference));
    return { mu: Math.log(reference) + mean, sigma: rootMeanSquare };
  },
  functions: ({ mu, sigma }) =>
    throughNormal({
      score: (x) => (x <= 0 ? -Infinity : (Math.log(x) - mu) / sigma),
      logSlope: (x) => -Math.log(sigma) - Math.log(x),
      value: (z) => Math.exp(mu + sigma * z),
    }),
};
