import { requireFinite, requireFiniteValues, requireFraction, requireWhole } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { randomSource } from '../numerics/random.ts';
import { shuffle } from '../numerics/shuffle.ts';
import { statisticsOf } from '../samples/subgroup-statistics.ts';

export interface ChangePointTestOptions {
  /** A p-value below it counts as proof, in (0, 1). Default 0.01. */
  readonly significance?: number;
  /** Random orders that the p-value is counted from, whole, 99 … 100,000. Default 999. n times permutations is at most 10⁸. */
  readonly permutations?: number;
  /** Start of the random orders. Default 1. */
  readonly seed?: number;
  /** How far below the largest log-likelihood a start is still plausible, 0 … 1000. Default 2. */
  readonly drop?: number;
}

export interface ChangePointTest {
  readonly n: number;
  /** Most plausible number of values before the change, whether it is proven or not; the earliest on a tie. */
  readonly changePoint: number;
  readonly meanBefore: number;
  readonly meanAfter: number;
  /** Share of the sum of squares that the best step explains, 0 … 1: the test statistic. */
  readonly explainedShare: number;
  readonly pValue: number;
  readonly permutations: number;
  /** Whether the p-value lies below the significance. */
  readonly proven: boolean;
  /** Other numbers of values before the change that are plausible, ascending. */
  readonly plausible: readonly number[];
  /** One plain sentence: since when, or that no change is proven. */
  readonly message: string;
}

/**
 * Is a baseline one process, or did its level step somewhere? Both levels and the common standard deviation are unknown.
 *
 * The statistic is the likelihood ratio at its largest over all times; it grows with the share of the sum of squares that
 * the best step explains. Because the best of many times is taken, no table of t applies: the p-value is the share of random
 * orders of the same values whose best step explains at least as much, the given order counted in. It is exact for
 * independent values of any distribution. Values that remember each other (autocorrelationTest) look like steps.
 *
 * @param values   n ≥ 5 finite numbers in time order, one unit: single values, or means of subgroups of one size.
 * @param options  significance, permutations, seed, drop.
 * @returns        the test; Unavailable `too-few-values`, `no-variation`.
 * @throws         StatisticsError `empty`, `not-finite` (names the value), `out-of-range`, `not-an-integer`.
 *
 * Source: Sullivan and Woodall, Journal of Quality Technology 28(4), 1996 (likelihood ratio for a baseline); Worsley,
 * Journal of the American Statistical Association 74, 1979; permutation p-value after Davison and Hinkley, Bootstrap
 * Methods and their Application, 1997, section 4.3.
 *
 * @example
 * changePointTest([10.1, 9.9, 10, 10.1, 9.9, 10, 11.2, 10.9, 11.1, 11, 10.8, 11]);
 * // available, changePoint 6, proven true, meanBefore 10, meanAfter 11
 */
export function changePointTest(
  values: readonly number[],
  options: ChangePointTestOptions = {},
): Outcome<ChangePointTest> {
  const { significance = 0.01, permutations = 999, seed = 1, drop = 2 } = options;
  requireFiniteValues(values, 'values');
  requireFraction(significance, 'options.significance');
  requireWhole(permutations, 99, 100_000, 'options.permutations');
  requireFinite(seed, 'options.seed');
  requireFinite(drop, 'options.drop');
  if (drop < 0 || drop > 1000)
    throw new StatisticsError('out-of-range', 'options.drop', drop, 'Choose a number from 0 to 1000.');
  const n = values.length;
  if (permutations * n > 1e8)
    throw new StatisticsError(
      'out-of-range',
      'options.permutations',
      permutations,
      'Values times permutations is at most 10⁸.',
    );
  if (n < 5)
    return {
      available: false,
      reason: 'too-few-values',
      message: `Five values are needed to look for a step; there are ${n}. Measure more.`,
    };
  const { mean, standardDeviation } = statisticsOf(values, 'values');
  if (standardDeviation === 0)
    return {
      available: false,
      reason: 'no-variation',
      message: 'All values are equal: there is no step in them.',
    };

  const deviations = Float64Array.from(values, (value) => (value - mean!) / standardDeviation!);
  const shares = new Float64Array(n);
  const explainedShare = Math.min(1, fillShares(deviations, shares));
  const changePoint = shares.findIndex((share) => share >= explainedShare * (1 - 1e-12));
  const random = randomSource(seed);
  const shuffled = Float64Array.from(deviations);
  const scratch = new Float64Array(n);
  let count = 1;
  for (let round = 0; round < permutations; round++) {
    shuffle(shuffled, random);
    // Orders that tie with the given one count, whatever the rounding.
    if (fillShares(shuffled, scratch) >= explainedShare * (1 - 1e-12)) count++;
  }
  const pValue = count / (1 + permutations);
  const proven = pValue < significance;
  const logLikelihood = (share: number) => (-n / 2) * Math.log(Math.max(1 - share, 1e-16));
  const least = logLikelihood(explainedShare) - drop;
  const plausible = Array.from(shares).flatMap((share, t) =>
    t > 0 && logLikelihood(share) >= least - 1e-9 ? [t] : [],
  );
  const meanBefore = statisticsOf(values.slice(0, changePoint), 'values').mean!;
  const meanAfter = statisticsOf(values.slice(changePoint), 'values').mean!;
  const figure = `p ${pValue < 0.001 ? 'below 0.001' : `= ${pValue.toFixed(3)}`}`;
  const [first, last] = [plausible[0]! + 1, plausible.at(-1)! + 1];
  return {
    available: true,
    n,
    changePoint,
    meanBefore,
    meanAfter,
    explainedShare,
    pValue,
    permutations,
    proven,
    plausible,
    message: proven
      ? `The level changed: since value ${changePoint + 1} the mean is ${short(meanAfter)} instead of ${short(meanBefore)} (${figure}; ${first === last ? 'no other start is plausible' : `starts from value ${first} to value ${last} are plausible`}). Look in the log for what was done then, and do not take limits from both parts together.`
      : unproven(figure, significance, n, pValue, changePoint),
  };
}

/**
 * Fills in at t the share of the sum of squares that a step after the first t values explains (0 at t = 0), and returns
 * the largest. The deviations are standardised, so that their sum is 0 and their sum of squares n − 1.
 */
function fillShares(deviations: Float64Array, shares: Float64Array): number {
  const n = deviations.length;
  let sum = 0;
  let largest = 0;
  for (let t = 1; t < n; t++) {
    sum += deviations[t - 1]!;
    const share = (sum * sum * n) / (t * (n - t)) / (n - 1);
    shares[t] = share;
    if (share > largest) largest = share;
  }
  return largest;
}

/** Not proven is not the same as absent: few values, or a p-value near the level, hide a change. */
function unproven(figure: string, level: number, n: number, pValue: number, changePoint: number): string {
  const start = `No change of the level is proven (${figure}, level ${level}, ${n} values).`;
  return pValue < 0.1 || n < 20
    ? `${start} ${n < 20 ? 'So few values can hide one' : 'It was near'}: if the log names an event around value ${changePoint + 1}, look there before these serve as one baseline.`
    : `${start} As far as the level goes, these values can serve as one baseline.`;
}

function short(value: number): string {
  return String(Number(value.toPrecision(5)));
}
