import type { Outcome } from '../../errors.ts';
import { chartPoint } from '../chart-point.ts';
import type { ChartPoint, LimitLines } from '../control-chart.ts';
import { requireMultivariateStandard } from './multivariate-checks.ts';
import type { MultivariateStandard, Observation } from './multivariate-standard.ts';
import { contributions, type TSquaredContributions } from './t-squared-contributions.ts';
import { type TSquaredPhase, tSquaredLimits } from './t-squared-limits.ts';
import { characteristicNames, tSquared, type Whitening, whitening } from './whitening.ts';

/** What a T² chart is drawn from, the same in all three routes. */
export interface TSquaredSettings {
  readonly standard: MultivariateStandard;
  /** Whether the points are those of the baseline ('first') or came after ('second', the default). */
  readonly phase?: TSquaredPhase;
  /** Probability that a point of a stable process lies beyond the limit, 1e-9 … 0.5. Default 0.0027. */
  readonly falseAlarmProbability?: number;
  /** Names of the characteristics, for the sentences. Default 'characteristic 1' … */
  readonly names?: readonly string[];
}

export interface TSquaredBasis {
  readonly standard: MultivariateStandard;
  readonly phase: TSquaredPhase;
  readonly falseAlarmProbability: number;
  readonly names: readonly string[];
  /** Whether the limit is exact for normal values, or an approximation (see tSquaredLimits). */
  readonly exact: boolean;
}

/** A point with what made it a signal; null where it is none. */
export interface TSquaredPoint extends ChartPoint {
  readonly contributions: TSquaredContributions | null;
}

interface Judge {
  readonly basis: TSquaredBasis;
  readonly limits: LimitLines;
  readonly whitening: Whitening;
  /** `argument` is what the caller calls the observation. */
  readonly point: (mean: Observation, index: number, argument: string) => TSquaredPoint;
}

/** Everything that all points of one chart share. */
export function judgeOf(settings: TSquaredSettings, size: number, argument: string): Outcome<Judge> {
  const { standard, phase = 'second', falseAlarmProbability = 0.0027 } = settings;
  requireMultivariateStandard(standard, `${argument}.standard`);
  const names = characteristicNames(settings.names, standard.mean.length, `${argument}.names`);
  const made = whitening(standard, names);
  if (!made.available) return made;
  const limits = tSquaredLimits({
    characteristics: standard.mean.length,
    samplesUsed: standard.samplesUsed,
    subgroupSize: standard.subgroupSize,
    phase,
    falseAlarmProbability,
    covariance: standard.method === 'successive-differences' ? 'successive-differences' : 'sample',
  });
  if (!limits.available) return limits;
  const { available: _, exact, ...lines } = limits;
  return {
    available: true,
    basis: { standard, phase, falseAlarmProbability, names, exact },
    limits: lines,
    whitening: made.whitening,
    point: (mean, index, argument) => {
      const point = chartPoint(index, size * tSquared(made.whitening, mean, argument), size, lines);
      const deviations = mean.map((x, j) => x - standard.mean[j]!);
      return {
        ...point,
        contributions: point.beyondLimits ? contributions(deviations, made.whitening, size, names) : null,
      };
    },
  };
}
