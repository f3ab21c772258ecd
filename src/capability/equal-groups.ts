import { chiSquareUpperTail } from '../numerics/chi-square.ts';
import { fUpperTail } from '../numerics/f-distribution.ts';

/** Mean and standard deviation of one group of at least two readings. */
export interface GroupMoments {
  readonly size: number;
  readonly mean: number;
  readonly standardDeviation: number;
}

/** One-way analysis of variance. */
export interface EqualMeans {
  readonly betweenMeanSquare: number;
  readonly withinMeanSquare: number;
  readonly betweenDegreesOfFreedom: number;
  readonly withinDegreesOfFreedom: number;
  readonly pValue: number;
}

/**
 * Could these groups share one mean? F test of the one-way analysis of variance, for groups of at least two readings.
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 7.4.3.
 */
export function equalMeans(groups: readonly GroupMoments[]): EqualMeans {
  const total = groups.reduce((sum, { size }) => sum + size, 0);
  const origin = groups[0]!.mean;
  const mean = origin + groups.reduce((sum, group) => sum + group.size * (group.mean - origin), 0) / total;
  const between = groups.reduce((sum, group) => sum + group.size * (group.mean - mean) ** 2, 0);
  const within = groups.reduce((sum, group) => sum + (group.size - 1) * group.standardDeviation ** 2, 0);
  const betweenDegreesOfFreedom = groups.length - 1;
  const withinDegreesOfFreedom = total - groups.length;
  const betweenMeanSquare = between / betweenDegreesOfFreedom;
  const withinMeanSquare = within / withinDegreesOfFreedom;
  return {
    betweenMeanSquare,
    withinMeanSquare,
    betweenDegreesOfFreedom,
    withinDegreesOfFreedom,
    pValue:
      withinMeanSquare > 0
        ? fUpperTail(betweenMeanSquare / withinMeanSquare, betweenDegreesOfFreedom, withinDegreesOfFreedom)
        : 0,
  };
}

/**
 * Could these groups share one standard deviation? Bartlett's test, for normal readings; no standard deviation is 0.
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.7.
 */
export function equalSpreads(groups: readonly GroupMoments[]): { readonly pValue: number } {
  const freedom = groups.reduce((sum, { size }) => sum + size - 1, 0);
  const pooled =
    groups.reduce((sum, group) => sum + (group.size - 1) * group.standardDeviation ** 2, 0) / freedom;
  const logs = groups.reduce(
    (sum, group) => sum - 2 * (group.size - 1) * Math.log(group.standardDeviation / Math.sqrt(pooled)),
    0,
  );
  const inverse = groups.reduce((sum, { size }) => sum + 1 / (size - 1), 0) - 1 / freedom;
  const correction = 1 + inverse / (3 * (groups.length - 1));
  return { pValue: chiSquareUpperTail(Math.max(0, logs / correction), groups.length - 1) };
}
