import type { Outcome } from '../../errors.ts';
import { signalsOf } from '../chart-point.ts';
import type { ChartResult } from '../control-chart.ts';
import { requireObservation, requireObservations, requireSubgroups } from './multivariate-checks.ts';
import {
  type MultivariateStandard,
  meanVector,
  multivariateStandard,
  multivariateStandardOfSubgroups,
  type Observation,
} from './multivariate-standard.ts';
import type { TSquaredContributions } from './t-squared-contributions.ts';
import { judgeOf, type TSquaredBasis, type TSquaredPoint, type TSquaredSettings } from './t-squared-judge.ts';

export interface TSquaredChartOptions extends Omit<TSquaredSettings, 'standard' | 'phase'> {
  /** Absent: estimated from the series itself, with first-phase limits. Given: second-phase limits. */
  readonly standard?: MultivariateStandard;
  /** Covariance of individuals, when it is estimated. Default 'sample'. */
  readonly covariance?: 'sample' | 'successive-differences';
}

export interface TSquaredChart extends ChartResult<TSquaredBasis> {
  /** One entry a signal, in the order of `signals`: which characteristic to look at first. */
  readonly contributions: readonly TSquaredContributions[];
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
