import { boxCoxPower, boxCoxValue } from './box-cox-transform.ts';
import { type DistributionFamily, noMaximum } from './distribution-family.ts';
import { logsOf } from './logs-of.ts';
import { isResolved, momentsOf } from './moments-of.ts';
import { likeliestPower } from './power-likelihood.ts';
import { throughNormal } from './through-normal.ts';

/** The likeliest power of values above 0; it does not depend on their unit. */
export function likeliestBoxCoxPower(values: Float64Array): number | null {
  const logs = logsOf(values, values[values.length >> 1]!);
  const { mean } = momentsOf(logs);
  // About the geometric mean the Jacobian of the powers drops out.
  return likeliestPower(
    logs.map((log) => log - mean),
    0,
  );
}

/**
 * Normal on the scale of a power. Powers reach no further than −1/lambda: what the normal distribution has beyond
 * that stands at the end, x = 0 for lambda above 0.
 *
 * Source: G. E. P. Box and D. R. Cox, Journal of the Royal Statistical Society B 26(2), 1964.
 */
export const boxCoxFamily: DistributionFamily<'box-cox'> = {
  title: 'a normal distribution of a power (Box-Cox)',
  parameterCount: 3,
  fewestValues: 3,
  holds: 'above-zero',
  positive: ['sigma'],
  names: ['lambda', 'mu', 'sigma'],
  fit: (sorted, choices) => {
    const lambda = choices.lambda ?? likeliestBoxCoxPower(sorted);
    if (lambda === null)
      return noMaximum('No power fits better than all others. Choose one: 0 for the logarithm, 0.5, −1, 1.');
    const { mean, rootMeanSquare } = momentsOf(sorted.map((x) => boxCoxPower(x, lambda)));
    return { lambda, mu: mean, sigma: isResolved(mean, rootMeanSquare) ? rootMeanSquare : 0 };
  },
  functions: ({ lambda, mu, sigma }) =>
    throughNormal({
      score: (x) => {
        if (x < 0 || (x === 0 && lambda <= 0)) return -Infinity;
        return ((x === 0 ? -1 / lambda : boxCoxPower(x, lambda)) - mu) / sigma;
      },
      logSlope: (x) => (lambda === 1 ? 0 : (lambda - 1) * Math.log(x)) - Math.log(sigma),
      value: (z) => boxCoxValue(mu + sigma * z, lambda),
    }),
};
