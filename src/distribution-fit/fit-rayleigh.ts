import type { DistributionFamily } from './distribution-family.ts';
import { weibullFunctions } from './fit-weibull.ts';
import { unitOf } from './moments-of.ts';

/** Source: ISO 3534-1 and ISO 22514-2, Rayleigh distribution: sigma² is half the mean square. */
export const rayleighFamily: DistributionFamily<'rayleigh'> = {
  title: 'a Rayleigh distribution',
  parameterCount: 1,
  fewestValues: 2,
  holds: 'above-zero',
  positive: ['sigma'],
  names: ['sigma'],
  fit: (sorted) => {
    const unit = unitOf(sorted);
    let squares = 0;
    for (let index = 0; index < sorted.length; index++) squares += (sorted[index]! / unit) ** 2;
    return { sigma: Math.sqrt(squares / (2 * sorted.length)) * unit };
  },
  functions: ({ sigma }) => weibullFunctions({ shape: 2, scale: sigma * Math.SQRT2 }),
};
