import { requireBetween, requireName, requirePositive, requireWhole } from '../../checks.ts';
import type { Outcome } from '../../errors.ts';
import { chiSquareQuantile } from '../../numerics/chi-square.ts';
import type { LimitLines } from '../control-chart.ts';
import { requireMultivariateStandard } from './multivariate-checks.ts';
import type { MultivariateStandard } from './multivariate-standard.ts';
import { characteristicNames, type Whitening, whitening } from './whitening.ts';

/** Target and covariance of the vectors that are charted, and how the chart weighs and judges them. */
export interface MewmaSettings {
  /** Mean vector (target) and covariance of single observations. Its samplesUsed says whether they are enough to tell the characteristics apart. */
  readonly standard: MultivariateStandard;
  /** Smoothing parameter λ, 10⁻⁶ … 1: weight of the newest observation. Default 0.1. */
  readonly smoothing?: number;
  /** Limit of T², > 0: mewmaLimit finds the one with a wanted average run length. */
  readonly upperControlLimit: number;
  /**
   * 'time-varying': exact covariance of the average at every point. 'asymptotic': where it settles, from the first
   * point on. Default 'time-varying'.
   */
  readonly limits?: 'time-varying' | 'asymptotic';
  /** Observations behind each vector, the same for all, whole, 1 … 10⁶. Default 1. */
  readonly size?: number;
  /** Names of the characteristics, for the sentences. Default 'characteristic 1' … */
  readonly names?: readonly string[];
}

export interface MewmaBasis {
  readonly standard: MultivariateStandard;
  readonly smoothing: number;
  readonly limits: 'time-varying' | 'asymptotic';
  readonly size: number;
  readonly names: readonly string[];
}

/** Everything that all points of one chart share. */
export interface PreparedMewma {
  readonly basis: MewmaBasis;
  readonly lines: LimitLines;
  /** About zero: it whitens the average of deviations. */
  readonly whitening: Whitening;
}

/** The settings checked, with their defaults and what follows from them. */
export function prepareMewma(settings: MewmaSettings): Outcome<PreparedMewma> {
  const { standard, smoothing = 0.1, upperControlLimit, limits = 'time-varying', size = 1 } = settings;
  requireMultivariateStandard(standard, 'settings.standard');
  requireSmoothing(smoothing, 'settings.smoothing');
  requirePositive(upperControlLimit, 'settings.upperControlLimit');
  requireName(limits, ['time-varying', 'asymptotic'], 'settings.limits');
  requireWhole(size, 1, 1e6, 'settings.size');
  const names = characteristicNames(settings.names, standard.mean.length, 'settings.names');
  const made = whitening(standard, names);
  if (!made.available) return made;
  return {
    available: true,
    basis: { standard, smoothing, limits, size, names },
    // T² of the average is chi-square distributed in control: half of the points lie above the center line.
    lines: {
      centerLine: chiSquareQuantile(0.5, standard.mean.length),
      lowerControlLimit: null,
      upperControlLimit,
    },
    whitening: { ...made.whitening, mean: new Float64Array(standard.mean.length) },
  };
}

/** λ between 10⁻⁶ and 1: below that the chart would need millions of points to move. */
function requireSmoothing(smoothing: number, argument: string): void {
  requireBetween(smoothing, 1e-6, 1, argument);
}

/** Covariance of the weighted average of `count` vectors, as a multiple of that of one. */
export function varianceShare(smoothing: number, count: number): number {
  // −expm1 keeps the digits where (1 − λ)²ⁱ is close to 1.
  return (smoothing / (2 - smoothing)) * -Math.expm1(2 * count * Math.log1p(-smoothing));
}
