import type { Outcome } from '../errors.ts';
import { chiSquareUpperTail } from '../numerics/chi-square.ts';
import { requireGroups } from './groups.ts';
import { midRanks } from './mid-ranks.ts';

export interface KruskalWallisTest {
  readonly method: 'Kruskal-Wallis';
  readonly statistic: number;
  readonly degreesOfFreedom: number;
  readonly pValue: number;
}

/**
 * Do several groups lie at the same place, whatever the shape of their distribution? The analysis of variance of ranks,
 * corrected for ties.
 *
 * @param groups  two or more lists of one or more finite numbers, all in one unit.
 * @returns       statistic with a chi-square distribution (approximately; good from 5 readings a group); Unavailable
 *                `no-variation` where all readings are equal.
 * @throws        StatisticsError `too-few-values`, `empty`, `not-finite`.
 *
 * Source: Kruskal and Wallis, Journal of the American Statistical Association 47 (1952) 583-621.
 *
 * @example
 * kruskalWallisTest([[6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5]]);
 * // available, statistic 4.81…, degreesOfFreedom 1, pValue 0.028…
 */
export function kruskalWallisTest(groups: readonly (readonly number[])[]): Outcome<KruskalWallisTest> {
  requireGroups(groups, 1);
  const all = groups.flat();
  const count = all.length;
  const { ranks, ties } = midRanks(all);
  if (ties === count ** 3 - count)
    return {
      available: false,
      reason: 'no-variation',
      message: 'All readings are equal, so they have no order. Check that the gauge resolves them.',
    };
  const middle = (count + 1) / 2;
  let place = 0;
  let sum = 0;
  for (const group of groups) {
    let distance = 0;
    for (let k = 0; k < group.length; k++) distance += ranks[place++]! - middle;
    sum += distance ** 2 / group.length;
  }
  const statistic = ((12 / (count * (count + 1))) * sum) / (1 - ties / (count ** 3 - count));
  const degreesOfFreedom = groups.length - 1;
  return {
    available: true,
    method: 'Kruskal-Wallis',
    statistic,
    degreesOfFreedom,
    pValue: chiSquareUpperTail(statistic, degreesOfFreedom),
  };
}
