import type { Outcome } from '../errors.ts';
import { quantile } from '../samples/robust-statistics.ts';
import { requireGroups } from './groups.ts';
import { oneWayAnalysisOfVariance } from './one-way-analysis-of-variance.ts';

export interface LeveneTest {
  readonly method: 'Levene about medians';
  readonly fRatio: number;
  readonly degreesOfFreedom: readonly [between: number, within: number];
  readonly pValue: number;
}

/**
 * Do several groups have the same spread? Analysis of variance of the distances from each group's median, which hardly
 * minds whether the distribution is normal: the test to use unless it is known to be.
 *
 * @param groups  two or more lists of 2 or more finite numbers, all in one unit.
 * @returns       Unavailable `no-variation` where the distances do not vary within the groups.
 * @throws        StatisticsError `too-few-values`, `empty`, `not-finite`, `out-of-range`.
 *
 * Source: Brown and Forsythe, Journal of the American Statistical Association 69 (1974) 364-367; NIST/SEMATECH
 * e-Handbook of Statistical Methods, 1.3.5.10.
 *
 * @example
 * leveneTest([[6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5]]);
 * // available, degreesOfFreedom [1, 8], fRatio 0.0026…, pValue 0.96…
 */
export function leveneTest(groups: readonly (readonly number[])[]): Outcome<LeveneTest> {
  requireGroups(groups, 2);
  const analysis = oneWayAnalysisOfVariance(
    groups.map((group) => {
      const middle = quantile(Float64Array.from(group).sort(), 0.5);
      return group.map((value) => Math.min(Math.abs(value - middle), Number.MAX_VALUE));
    }),
  );
  if (!analysis.available)
    return {
      ...analysis,
      message: 'The distances from the medians do not vary within the groups. Measure more in each group.',
    };
  return {
    available: true,
    method: 'Levene about medians',
    fRatio: analysis.fRatio,
    degreesOfFreedom: [analysis.between.degreesOfFreedom, analysis.within.degreesOfFreedom],
    pValue: analysis.pValue,
  };
}
