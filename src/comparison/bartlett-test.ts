import { requireConfidence } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { chiSquareQuantile, chiSquareUpperTail } from '../numerics/chi-square.ts';
import { requireGroups } from './groups.ts';
import { summaryOf } from './sample.ts';

export interface BartlettTestOptions {
  /** Of the critical value, 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
}

export interface BartlettTest {
  readonly method: 'Bartlett';
  readonly statistic: number;
  readonly degreesOfFreedom: number;
  readonly criticalValue: number;
  readonly pValue: number;
  readonly significant: boolean;
}

/**
 * Do several normal groups have the same variance? Reacts just as strongly to a shape that is not normal; leveneTest
 * does not.
 *
 * @param groups  two or more lists of 2 or more finite numbers, all in one unit.
 * @returns       statistic with a chi-square distribution (approximately; good from 5 readings a group); Unavailable
 *                `no-variation` where a group has no spread.
 * @throws        StatisticsError `too-few-values`, `empty`, `not-finite`, `out-of-range`.
 *
 * Source: M. S. Bartlett, Proceedings of the Royal Society A 160 (1937) 268-282; NIST/SEMATECH e-Handbook of Statistical
 * Methods, 1.3.5.7.
 *
 * @example
 * bartlettTest([[6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5]]);
 * // available, degreesOfFreedom 1, statistic 0.00056…, significant false
 */
export function bartlettTest(
  groups: readonly (readonly number[])[],
  options: BartlettTestOptions = {},
): Outcome<BartlettTest> {
  const { confidence = 0.95 } = options;
  requireConfidence(confidence, 'options.confidence');
  requireGroups(groups, 2);
  const samples = groups.map((group, index) => summaryOf(group, `groups.${index}`));
  if (samples.some(({ standardDeviation }) => standardDeviation === 0))
    return {
      available: false,
      reason: 'no-variation',
      message:
        'A group shows no variation. Check that the gauge resolves it, and measure more in that group.',
    };
  const degreesOfFreedom = groups.length - 1;
  const total = samples.reduce((sum, { count }) => sum + count - 1, 0);
  const pooled =
    samples.reduce((sum, { count, standardDeviation }) => sum + (count - 1) * standardDeviation ** 2, 0) /
    total;
  let uncorrected = 0;
  let inverses = 0;
  for (const { count, standardDeviation } of samples) {
    uncorrected += (count - 1) * Math.log(pooled / standardDeviation ** 2);
    inverses += 1 / (count - 1);
  }
  const correction = 1 + (inverses - 1 / total) / (3 * degreesOfFreedom);
  const statistic = Math.max(0, uncorrected / correction);
  const criticalValue = chiSquareQuantile(confidence, degreesOfFreedom);
  return {
    available: true,
    method: 'Bartlett',
    statistic,
    degreesOfFreedom,
    criticalValue,
    pValue: chiSquareUpperTail(statistic, degreesOfFreedom),
    significant: statistic > criticalValue,
  };
}
