import { boxCoxValue, powerOfLog } from './box-cox-transform.ts';
import { type DistributionFamily, noMaximum } from './distribution-family.ts';
import { isResolved, momentsOf } from './moments-of.ts';
import { likeliestPower } from './power-likelihood.ts';
import { throughNormal } from './through-normal.ts';

/** ln(1 + |x|) with the sign of x. */
const signedLog = (x: number) => Math.sign(x) * Math.log1p(Math.abs(x));

/** The power of 1 + x for x ≥ 0; below 0 the mirrored one, with 2 − lambda, of 1 − x. */
export function yeoJohnsonPower(x: number, lambda: number): number {
  return x < 0 ? -powerOfLog(Math.log1p(-x), 2 - lambda) : powerOfLog(Math.log1p(x), lambda);
}

export function yeoJohnsonValue(power: number, lambda: number): number {
  return power < 0 ? 1 - boxCoxValue(-power, 2 - lambda) : boxCoxValue(power, lambda) - 1;
}

/**
 * Normal on the scale of a power that also takes 0 and negative values. The 1 in it belongs to the unit of the
 * values, so another unit gives another fit.
 *
 * Source: I.-K. Yeo and R. A. Johnson, Biometrika 87(4), 2000 (cited from memory; checked against scipy).
 */
export const yeoJohnsonFamily: DistributionFamily<'yeo-johnson'> = {
  title: 'a normal distribution of a power (Yeo-Johnson)',
  parameterCount: 3,
  fewestValues: 3,
  holds: 'any',
  positive: ['sigma'],
  names: ['lambda', 'mu', 'sigma'],
  fit: (sorted, choices) => {
    const logs = sorted.map(signedLog);
    const lambda = choices.lambda ?? likeliestPower(logs, momentsOf(logs).mean, true);
    if (lambda === null)
      return noMaximum(
        'No power fits better than all others. Choose another unit or origin, or a Johnson distribution.',
      );
    const { mean, rootMeanSquare } = momentsOf(sorted.map((x) => yeoJohnsonPower(x, lambda)));
    return { lambda, mu: mean, sigma: isResolved(mean, rootMeanSquare) ? rootMeanSquare : 0 };
  },
  functions: ({ lambda, mu, sigma }) =>
    throughNormal({
      score: (x) => (yeoJohnsonPower(x, lambda) - mu) / sigma,
      logSlope: (x) => (lambda - 1) * signedLog(x) - Math.log(sigma),
      value: (z) => yeoJohnsonValue(mu + sigma * z, lambda),
    }),
};
