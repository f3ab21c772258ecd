import type { DistributionFamily } from './distribution-family.ts';
import { weibullFunctions } from './fit-weibull.ts';
import { momentsOf } from './moments-of.ts';

/** Source: ISO 3534-1, exponential distribution: the scale is the mean. */
export const exponentialFamily: DistributionFamily<'exponential'> = {
  title: 'an exponential distribution',
  parameterCount: 1,
  fewestValues: 2,
  holds: 'zero-and-above',
  positive: ['scale'],
  names: ['scale'],
  fit: (sorted) => ({ scale: momentsOf(sorted).mean }),
  functions: ({ scale }) => weibullFunctions({ shape: 1, scale }),
};
