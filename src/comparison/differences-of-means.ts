import { requireName } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { studentTQuantile } from '../numerics/student-t.ts';
import {
  type OneWayAnalysisOfVarianceOptions,
  oneWayAnalysisOfVariance,
} from './one-way-analysis-of-variance.ts';

export interface DifferencesOfMeansOptions extends OneWayAnalysisOfVarianceOptions {
  /**
   * 'each': every interval alone holds its difference with the confidence; among many, some then miss. 'all'
   * (default): all of them together do, by Bonferroni's inequality.
   */
  readonly holds?: 'each' | 'all';
}

export interface DifferenceOfMeans {
  /** Indices of the groups. */
  readonly first: number;
  readonly second: number;
  /** Mean of the second less mean of the first. */
  readonly difference: number;
  readonly lower: number;
  readonly upper: number;
}

export interface DifferencesOfMeans {
  readonly method: 'Student intervals with pooled standard deviation';
  readonly holds: 'each' | 'all';
  readonly confidence: number;
  readonly degreesOfFreedom: number;
  readonly residualStandardDeviation: number;
  readonly differences: readonly DifferenceOfMeans[];
}

/**
 * Which groups differ, and by how much: an interval for the difference of every two means, with the standard deviation
 * pooled over all groups.
 *
 * @param groups   2 … 100 lists as for oneWayAnalysisOfVariance.
 * @param options  confidence of the intervals, default 0.95.
 * @returns        differences and limits in the unit of the readings; an interval that leaves 0 out shows a
 *                 difference. Unavailable `no-variation` where no group has any spread.
 * @throws         StatisticsError as oneWayAnalysisOfVariance, `out-of-range` for more than 100 groups, and
 *                 `unknown-name` (options.holds).
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3.5 (each) and 7.4.7.3 (all, Bonferroni).
 *
 * @example
 * differencesOfMeans([[6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5]], { holds: 'each' });
 * // available, differences[0].difference 2.37…, differences[0].lower 0.76…
 */
export function differencesOfMeans(
  groups: readonly (readonly number[])[],
  options: DifferencesOfMeansOptions = {},
): Outcome<DifferencesOfMeans> {
  const { confidence = 0.95, holds = 'all' } = options;
  requireName(holds, ['each', 'all'], 'options.holds');
  if (groups.length > 100)
    throw new StatisticsError(
      'out-of-range',
      'groups',
      groups.length,
      'At most 100 groups are compared in pairs.',
    );
  const analysis = oneWayAnalysisOfVariance(groups, options);
  if (!analysis.available) return analysis;
  const { groupMeans, residualStandardDeviation, within } = analysis;
  const intervals = holds === 'each' ? 1 : (groups.length * (groups.length - 1)) / 2;
  const multiple = -studentTQuantile((1 - confidence) / 2 / intervals, within.degreesOfFreedom);
  const differences: DifferenceOfMeans[] = [];
  for (let first = 0; first < groups.length; first++)
    for (let second = first + 1; second < groups.length; second++) {
      const difference = groupMeans[second]! - groupMeans[first]!;
      const width =
        multiple *
        residualStandardDeviation *
        Math.sqrt(1 / groups[first]!.length + 1 / groups[second]!.length);
      differences.push({ first, second, difference, lower: difference - width, upper: difference + width });
    }
  return {
    available: true,
    method: 'Student intervals with pooled standard deviation',
    holds,
    confidence,
    degreesOfFreedom: within.degreesOfFreedom,
    residualStandardDeviation,
    differences,
  };
}
