import type { Unavailable } from '../errors.ts';
import type { RandomSource } from '../numerics/random.ts';
import type { DistributionName, DistributionParameters } from './fitted-distribution.ts';

/** What one distribution with known parameters answers. Each tail keeps its relative accuracy far out. */
export interface DistributionFunctions {
  /** Natural logarithm of the density. */
  readonly logDensity: (x: number) => number;
  /** P(X ≤ x). */
  readonly lowerTail: (x: number) => number;
  /** P(X > x). */
  readonly upperTail: (x: number) => number;
  /** Logarithms of the two, finite where the tails themselves underflow. */
  readonly logLowerTail: (x: number) => number;
  readonly logUpperTail: (x: number) => number;
  /** x with P(X ≤ x) = probability. */
  readonly quantile: (probability: number) => number;
  /** One random value. */
  readonly draw: (random: RandomSource) => number;
}

export interface FitChoices {
  /** Power held fixed instead of estimated. */
  readonly lambda?: number | undefined;
}

/** How one distribution is fitted and computed with. */
export interface DistributionFamily<Name extends DistributionName = DistributionName> {
  /** In a sentence: "a Weibull distribution". */
  readonly title: string;
  /** Number of parameters that a fit estimates. */
  readonly parameterCount: number;
  /** Fewest values that can have a fit. */
  readonly fewestValues: number;
  /** Which values it can hold. */
  readonly holds: 'any' | 'zero-and-above' | 'above-zero';
  /** Parameters that have to be above 0. */
  readonly positive: readonly (keyof DistributionParameters[Name])[];
  /** All parameters, in the order of their definition. */
  readonly names: readonly (keyof DistributionParameters[Name])[];
  /** Maximum likelihood; `sorted` ascends and holds at least two different values. */
  readonly fit: (sorted: Float64Array, choices: FitChoices) => DistributionParameters[Name] | Unavailable;
  readonly functions: (parameters: DistributionParameters[Name]) => DistributionFunctions;
}

export function noMaximum(message: string): Unavailable {
  return { available: false, reason: 'no-maximum', message };
}
