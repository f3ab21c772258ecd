import { requireBetween, requireFinite, requireName, requirePositive } from '../checks.ts';
import type { DistributionFamily, DistributionFunctions } from './distribution-family.ts';
import { boxCoxFamily } from './fit-box-cox.ts';
import { exponentialFamily } from './fit-exponential.ts';
import { foldedNormalFamily } from './fit-folded-normal.ts';
import { gammaFamily } from './fit-gamma.ts';
import { johnsonBoundedFamily } from './fit-johnson-bounded.ts';
import { johnsonUnboundedFamily } from './fit-johnson-unbounded.ts';
import { lognormalFamily } from './fit-lognormal.ts';
import { normalFamily } from './fit-normal.ts';
import { rayleighFamily } from './fit-rayleigh.ts';
import { weibullFamily } from './fit-weibull.ts';
import { yeoJohnsonFamily } from './fit-yeo-johnson.ts';
import type { Distribution, DistributionName, DistributionParameters } from './fitted-distribution.ts';

export const families: { readonly [Name in DistributionName]: DistributionFamily<Name> } = {
  normal: normalFamily,
  lognormal: lognormalFamily,
  weibull: weibullFamily,
  gamma: gammaFamily,
  rayleigh: rayleighFamily,
  exponential: exponentialFamily,
  'folded-normal': foldedNormalFamily,
  'johnson-su': johnsonUnboundedFamily,
  'johnson-sb': johnsonBoundedFamily,
  'box-cox': boxCoxFamily,
  'yeo-johnson': yeoJohnsonFamily,
};

/** The names of the distributions that can be fitted. */
export const distributionNames = Object.keys(families) as readonly DistributionName[];

/** The functions of a distribution that somebody hands in, its name and parameters checked. */
export function functionsOf(given: Distribution, argument = 'fitted'): DistributionFunctions {
  requireName(given.distribution, distributionNames, `${argument}.distribution`);
  const family = families[given.distribution] as unknown as DistributionFamily;
  const parameters = given.parameters as Readonly<Record<string, number>>;
  for (const name of family.names) {
    const value = parameters[name]!;
    if ((family.positive as readonly string[]).includes(name))
      requirePositive(value, `${argument}.parameters.${name}`);
    else requireFinite(value, `${argument}.parameters.${name}`);
  }
  if (given.distribution === 'folded-normal')
    requireBetween(parameters.mu!, 0, Number.MAX_VALUE, `${argument}.parameters.mu`);
  return family.functions(given.parameters as DistributionParameters[DistributionName]);
}
