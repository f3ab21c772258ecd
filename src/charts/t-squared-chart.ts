import type { Outcome } from '../errors.ts';
import { chartPoint, signalsOf } from './chart-point.ts';
import type { ChartPoint, ChartResult, LimitLines } from './control-chart.ts';
import {
  type MultivariateStandard,
  meanVector,
  multivariateStandard,
  multivariateStandardOfSubgroups,
  type Observation,
  requireMultivariateStandard,
  requireObservation,
  requireObservations,
  requireSubgroups,
} from './multivariate-standard.ts';
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

export interface TSquaredChartOptions extends Omit<TSquaredSettings, 'standard' | 'phase'> {
  /** Absent: estimated from the series itself, with first-phase limits. Given: second-phase limits. */
  readonly standard?: MultivariateStandard;
  /** Covariance of individuals, when it is estimated. Default 'sample'. */
  readonly covariance?: 'sample' | 'successive-differences';
}

export interface TSquaredBasis {
  readonly standard: MultivariateStandard;
  readonly phase: TSquaredPhase;
  readonly falseAlarmProbability: number;
  readonly names: readonly string[];
  /** Whether the limit is exact for normal values, or an approximation (see tSquaredLimits). */
  readonly exact: boolean;
}

export interface TSquaredChart extends ChartResult<TSquaredBasis> {
  /** One entry a signal, in the order of `signals`: which characteristic to look at first. */
  readonly contributions: readonly TSquaredContributions[];
}

/** A point with what made it a signal; null where it is none. */
export interface TSquaredPoint extends ChartPoint {
  readonly contributions: TSquaredContributions | null;
}

/**
 * Hotelling's T² chart of single observations of several characteristics: one chart that also sees what no chart of one
 * characteristic can, values that do not fit each other.
 *
 * @param observations  m rows of p finite numbers, 1 ≤ p ≤ 100, in time order.
 * @param options       standard (absent: estimated here, first phase), covariance, false-alarm probability, names.
 * @returns             points with the limit, and at each signal the characteristic that contributes most; Unavailable
 *                      `singular-covariance`, `too-few-values` (one observation).
 * @throws              StatisticsError `empty`, `not-finite` (names the reading), `sizes-differ`, `out-of-range`,
 *                      `unknown-name`.
 *
 * Source: ISO 7870-7; limits as tSquaredLimits.
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: null, subgroupSize: 1, method: 'given' };
 * tSquaredChart([[10, 5], [11, 4]], { standard, names: ['width', 'runout'] });
 * // available, points[1].value 20.0…, points[1].limits.upperControlLimit 11.82…, signals [1], contributions[0].largest "width"
 */
export function tSquaredChart(
  observations: readonly Observation[],
  options: TSquaredChartOptions = {},
): Outcome<TSquaredChart> {
  const { standard, covariance = 'sample', ...others } = options;
  requireObservations(observations, 'observations', standard?.mean?.length);
  const estimated = standard === undefined ? multivariateStandard(observations, { covariance }) : null;
  if (estimated?.available === false) return estimated;
  return chart('observations', observations, 1, {
    ...others,
    standard: standard ?? estimated!,
    phase: standard === undefined ? 'first' : 'second',
  });
}

/**
 * Hotelling's T² chart of subgroups: T² of each mean vector, n(x̄ − mean)′S⁻¹(x̄ − mean).
 *
 * @param subgroups  m subgroups of one size n, each n rows of p finite numbers. Where the standard is estimated here,
 *                   n ≥ 2; a given estimated standard should come from subgroups of the same n.
 * @param options    as tSquaredChart.
 * @returns          as tSquaredChart.
 * @throws           as tSquaredChart.
 *
 * Source: ISO 7870-7; limits as tSquaredLimits.
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: 25, subgroupSize: 2, method: 'within-subgroup' };
 * tSquaredSubgroupChart([[[10, 5], [11, 4]]], { standard });
 * // available, points[0].value 10.0…, points[0].size 2, signals []
 */
export function tSquaredSubgroupChart(
  subgroups: readonly (readonly Observation[])[],
  options: Omit<TSquaredChartOptions, 'covariance'> = {},
): Outcome<TSquaredChart> {
  const { standard, ...others } = options;
  requireSubgroups(subgroups, 'subgroups', standard?.mean?.length);
  const estimated = standard === undefined ? multivariateStandardOfSubgroups(subgroups) : null;
  if (estimated?.available === false) return estimated;
  return chart('subgroups', subgroups.map(meanVector), subgroups[0]!.length, {
    ...others,
    standard: standard ?? estimated!,
    phase: standard === undefined ? 'first' : 'second',
  });
}

/**
 * One new observation on a T² chart, for live use: the same point that tSquaredChart gives.
 *
 * @param observation  p finite numbers.
 * @param settings     standard, phase, false-alarm probability, names.
 * @returns            the point, with its contributions where it signals; Unavailable `singular-covariance`.
 * @throws             as tSquaredChart.
 *
 * Source: as tSquaredChart.
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: null, subgroupSize: 1, method: 'given' };
 * tSquaredPoint([11, 4], { standard });
 * // available, value 20.0…, beyondLimits true
 */
export function tSquaredPoint(observation: Observation, settings: TSquaredSettings): Outcome<TSquaredPoint> {
  const judge = judgeOf(settings, 1, 'settings');
  if (!judge.available) return judge;
  requireObservation(observation, 'observation', settings.standard.mean.length, 'settings.standard.mean');
  return { available: true, ...judge.point(observation, 0, 'observation') };
}

/**
 * One new subgroup on a T² chart, for live use: the same point that tSquaredSubgroupChart gives.
 *
 * @param subgroup  n ≥ 1 rows of p finite numbers.
 * @param settings  standard, phase, false-alarm probability, names.
 * @returns         the point, with its contributions where it signals; Unavailable `singular-covariance`.
 * @throws          as tSquaredChart.
 *
 * Source: as tSquaredSubgroupChart.
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: 25, subgroupSize: 2, method: 'within-subgroup' };
 * tSquaredSubgroupPoint([[10, 5], [11, 4]], { standard });
 * // available, value 10.0…, size 2, beyondLimits false
 */
export function tSquaredSubgroupPoint(
  subgroup: readonly Observation[],
  settings: TSquaredSettings,
): Outcome<TSquaredPoint> {
  const judge = judgeOf(settings, subgroup.length, 'settings');
  if (!judge.available) return judge;
  requireObservations(subgroup, 'subgroup', settings.standard.mean.length);
  return { available: true, ...judge.point(meanVector(subgroup), 0, 'subgroup') };
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

function chart(
  argument: string,
  means: readonly Observation[],
  size: number,
  settings: TSquaredSettings,
): Outcome<TSquaredChart> {
  const judge = judgeOf(settings, size, 'options');
  if (!judge.available) return judge;
  const judged = means.map((mean, index) => judge.point(mean, index, `${argument}.${index}`));
  const points = judged.map(({ contributions: _, ...point }) => point);
  return {
    available: true,
    statistic: 'T squared',
    points,
    basis: judge.basis,
    signals: signalsOf(points),
    contributions: judged.flatMap(({ contributions: one }) => (one === null ? [] : [one])),
  };
}
