import type { DistributionPercentiles } from '../capability/percentile-indices.ts';

/** The distributions on offer, each with the symbols of its published density. x is in the unit of the values. */
export interface DistributionParameters {
  /** Mean and standard deviation of x (divisor n where fitted). */
  readonly normal: { readonly mu: number; readonly sigma: number };
  /** Mean and standard deviation of ln x (divisor n where fitted), x > 0. */
  readonly lognormal: { readonly mu: number; readonly sigma: number };
  /** P(X > x) = exp(−(x/scale)^shape), x > 0. */
  readonly weibull: { readonly shape: number; readonly scale: number };
  /** Density x^(shape − 1) exp(−x/scale) / (Γ(shape) scale^shape), x > 0. */
  readonly gamma: { readonly shape: number; readonly scale: number };
  /** Density x/sigma² exp(−x²/(2 sigma²)), x > 0: the distance of a point whose two coordinates scatter alike. */
  readonly rayleigh: { readonly sigma: number };
  /** P(X > x) = exp(−x/scale), x ≥ 0; the mean is `scale`. */
  readonly exponential: { readonly scale: number };
  /** |N(mu, sigma²)|, mu ≥ 0, x ≥ 0; mu = 0 is the half-normal distribution. */
  readonly 'folded-normal': { readonly mu: number; readonly sigma: number };
  /** gamma + delta asinh((x − xi)/lambda) is standard normal: any x, tails heavier than the normal ones. */
  readonly 'johnson-su': JohnsonParameters;
  /** gamma + delta ln((x − xi)/(xi + lambda − x)) is standard normal: xi < x < xi + lambda. */
  readonly 'johnson-sb': JohnsonParameters;
  /** (x^lambda − 1)/lambda, ln x where lambda is 0, is normal with mean mu and standard deviation sigma; x > 0. */
  readonly 'box-cox': PowerParameters;
  /** The same power of 1 + x for x ≥ 0 and, with 2 − lambda, of 1 − x for x < 0: any x, bound to the unit of x. */
  readonly 'yeo-johnson': PowerParameters;
}

interface JohnsonParameters {
  readonly gamma: number;
  readonly delta: number;
  readonly xi: number;
  readonly lambda: number;
}

interface PowerParameters {
  readonly lambda: number;
  readonly mu: number;
  readonly sigma: number;
}

export type DistributionName = keyof DistributionParameters;

/** A distribution with its parameters, whether fitted or given. */
export type Distribution<Name extends DistributionName = DistributionName> = {
  readonly [One in Name]: { readonly distribution: One; readonly parameters: DistributionParameters[One] };
}[Name];

/** A distribution fitted by maximum likelihood, and how well it fits. */
export type FittedDistribution<Name extends DistributionName = DistributionName> = Distribution<Name> & {
  readonly sampleSize: number;
  /** Natural logarithm with all constants, for the values in their own unit. */
  readonly logLikelihood: number;
  /** A² of the values against the fitted distribution, not adjusted; dimensionless. */
  readonly andersonDarling: number;
  /** Quantiles at 0.00135, 0.5 and 0.99865, in the unit of the values. */
  readonly quantiles: DistributionPercentiles;
};
