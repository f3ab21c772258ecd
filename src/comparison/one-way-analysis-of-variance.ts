import { requireConfidence } from '../checks.ts';
import { type Outcome, StatisticsError, type Unavailable } from '../errors.ts';
import { fQuantile, fUpperTail } from '../numerics/f-distribution.ts';
import { preciseSum } from '../numerics/sum.ts';
import { requireGroups } from './groups.ts';

export interface OneWayAnalysisOfVarianceOptions {
  /** Of the critical value, 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
}

export interface VarianceSource {
  readonly sumOfSquares: number;
  readonly degreesOfFreedom: number;
  readonly meanSquare: number;
}

export interface OneWayAnalysisOfVariance {
  readonly method: 'one-way analysis of variance';
  readonly groupMeans: readonly number[];
  readonly grandMean: number;
  readonly count: number;
  readonly between: VarianceSource;
  readonly within: VarianceSource;
  readonly totalSumOfSquares: number;
  readonly fRatio: number;
  /** Probability of so large a ratio where all groups have one mean. */
  readonly pValue: number;
  /** Of the ratio, at the confidence asked for. */
  readonly criticalValue: number;
  /** Share of the total sum of squares that lies between the groups, 0 … 1. */
  readonly rSquared: number;
  readonly residualStandardDeviation: number;
  readonly message: string;
}

/**
 * Do several groups (streams, shifts, dies) have the same mean? One-way analysis of variance, balanced or not.
 *
 * The sums of squares are formed from distances to the means, with the rounding errors carried along, so that large
 * constant leading digits of the readings cost nothing (tests/reference/strd-anova.test.ts prints the digits reached).
 *
 * @param groups  two or more lists of one or more finite numbers, all in one unit, together more numbers than lists.
 * @returns       sums of squares in that unit squared; Unavailable `no-variation` where no group has any spread.
 * @throws        StatisticsError `too-few-values`, `empty`, `not-finite` (with indices), `out-of-range` where the
 *                readings lie further apart than 1e150, or options.confidence is no fraction.
 *
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3.3; Montgomery, Design and Analysis of Experiments,
 * section 3.3.
 *
 * @example
 * oneWayAnalysisOfVariance([[6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5], [8.0, 10.5, 8.1, 6.9, 9.3]]);
 * // available, between.degreesOfFreedom 2, fRatio 9.59…, pValue 0.0032…
 */
export function oneWayAnalysisOfVariance(
  groups: readonly (readonly number[])[],
  options: OneWayAnalysisOfVarianceOptions = {},
): Outcome<OneWayAnalysisOfVariance> {
  const { confidence = 0.95 } = options;
  requireConfidence(confidence, 'options.confidence');
  const sums = groupSums(groups);
  const { count, within, between, unit } = sums;
  if (within === 0) return noVariationWithin;
  const [betweenFreedom, withinFreedom] = [groups.length - 1, count - groups.length];
  const fRatio = between / betweenFreedom / (within / withinFreedom);
  if (!Number.isFinite(fRatio)) return noVariationWithin;
  const pValue = fUpperTail(fRatio, betweenFreedom, withinFreedom);
  const square = unit * unit;
  const source = (sum: number, degreesOfFreedom: number): VarianceSource => ({
    sumOfSquares: sum * square,
    degreesOfFreedom,
    meanSquare: (sum / degreesOfFreedom) * square,
  });
  return {
    available: true,
    method: 'one-way analysis of variance',
    groupMeans: sums.groupMeans,
    grandMean: sums.grandMean,
    count,
    between: source(between, betweenFreedom),
    within: source(within, withinFreedom),
    totalSumOfSquares: (between + within) * square,
    fRatio,
    pValue,
    criticalValue: fQuantile(confidence, betweenFreedom, withinFreedom),
    rSquared: between / (between + within),
    residualStandardDeviation: Math.sqrt(within / withinFreedom) * unit,
    message:
      pValue < 1 - confidence
        ? 'The group means differ by more than the spread within the groups explains: find out which group stands apart, and why.'
        : 'The spread within the groups explains the differences of their means. This does not prove the means equal: small groups hide small differences.',
  };
}

const noVariationWithin: Unavailable = {
  available: false,
  reason: 'no-variation',
  message:
    'The readings within the groups show no variation to judge the means by. Check that the gauge resolves it.',
};

/** Sums of squares in units of `unit`², so that they neither overflow nor vanish. */
function groupSums(groups: readonly (readonly number[])[]) {
  requireGroups(groups, 1);
  const count = groups.reduce((sum, group) => sum + group.length, 0);
  if (count <= groups.length)
    throw new StatisticsError('too-few-values', 'groups', count, 'At least one group needs two values.');
  const origin = groups[0]![0]!;
  const unit = spread(groups, origin);
  // Each group's mean as a distance from its own first value, which costs no digits of its residuals.
  const parts = groups.map((group) => {
    const first = group[0]!;
    const distances = group.map((value) => (value - first) / unit);
    const offset = preciseSum(distances) / group.length;
    return {
      size: group.length,
      first,
      offset,
      fromOrigin: (first - origin) / unit + offset,
      within: preciseSum(distances.map((distance) => (distance - offset) ** 2)),
    };
  });
  const centre = preciseSum(parts.map(({ size, fromOrigin }) => size * fromOrigin)) / count;
  return {
    count,
    unit,
    groupMeans: parts.map(({ first, offset }) => first + offset * unit),
    grandMean: origin + centre * unit,
    within: preciseSum(parts.map((part) => part.within)),
    between: preciseSum(parts.map(({ size, fromOrigin }) => size * (fromOrigin - centre) ** 2)),
  };
}

/** A power of two near the largest distance from the origin. */
function spread(groups: readonly (readonly number[])[], origin: number): number {
  let largest = 0;
  for (const group of groups)
    for (const value of group) largest = Math.max(largest, Math.abs(value - origin));
  if (largest > 1e150)
    throw new StatisticsError(
      'out-of-range',
      'groups',
      largest,
      'The readings lie more than 1e150 apart: their squares leave the range of numbers. Use a larger unit.',
    );
  return largest < 1e-290 ? 1 : 2 ** Math.floor(Math.log2(largest));
}
