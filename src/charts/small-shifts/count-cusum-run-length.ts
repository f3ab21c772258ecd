import { requireBetween, requireName, requirePositive, requireWhole } from '../../checks.ts';
import { type Outcome, StatisticsError } from '../../errors.ts';
import { binomialLowerTail } from '../../numerics/binomial.ts';
import { solveLinear } from '../../numerics/matrix.ts';
import { poissonLowerTail } from '../../numerics/poisson.ts';
import { type CountDistribution, countDistributions } from '../attributes/count-sample.ts';

export interface CountCusumRunLengthOptions {
  readonly distribution: CountDistribution;
  /** Parts in each sample, whole, 1 … 1e6; for Poisson counts any size, 1e-9 … 1e9. */
  readonly size: number;
  /** The level the process really has: proportion nonconforming (0 … 1), or nonconformities per unit (0 … 1e9). */
  readonly level: number;
  /** Reference value a/b in events per sample: `numerator` whole, 1 … 1e6, `denominator` whole, 1 … 100. */
  readonly referenceValue: { readonly numerator: number; readonly denominator: number };
  /** Decision interval in events, > 0; decisionInterval · denominator at most 300. */
  readonly decisionInterval: number;
  /** Default 'upward'. */
  readonly direction?: 'upward' | 'downward';
  /** Start of the sum in events, from 0 to the decision interval. Default 0. */
  readonly headStart?: number;
}

export interface CountCusumRunLength {
  readonly method: 'exact Markov chain';
  /** Samples on average until the sum passes the decision interval. */
  readonly averageRunLength: number;
  /** States of the chain. */
  readonly states: number;
}

/** Longer averages lie beyond what double precision can tell from never. */
const longestRunLength = 1e12;

/**
 * How many samples a CUSUM chart of counts runs on average until it signals: of a process in control, how often it calls
 * for nothing; of a changed one, how late it notices.
 *
 * The chart in events: S = max(0, S + x − k), downward S = max(0, S + k − x), signal where S > h. It is the log-likelihood
 * chart divided by its weight of one event: k = referenceValue · size and h = decisionInterval/|weightPerEvent| of its basis.
 * With k = a/b the sum only takes multiples of 1/b, so the chain is exact; round the k of a chart to a fraction and use it.
 *
 * @param options  see there. The head start is rounded down to a multiple of 1/b.
 * @returns        the average run length in samples, relative error about 1e-16 times itself; Unavailable `not-reachable`
 *                 where it is above 1e12 or the sum can never signal.
 * @throws         StatisticsError `not-finite`, `not-an-integer`, `out-of-range`, `unknown-name`.
 *
 * Source: Brook and Evans, An approach to the probability distribution of cusum run length, Biometrika 59(3), 1972, which
 * treats Poisson counts exactly; Gan, Journal of Applied Statistics 20(4), 1993, for binomial counts.
 *
 * @example
 * const chart = { distribution: 'poisson', size: 1, referenceValue: { numerator: 3, denominator: 1 }, decisionInterval: 5 };
 * countCusumRunLength({ ...chart, level: 2 });
 * // available, averageRunLength 412.4714…, states 6
 */
export function countCusumRunLength(options: CountCusumRunLengthOptions): Outcome<CountCusumRunLength> {
  const { distribution, size, level, referenceValue, decisionInterval } = options;
  const { direction = 'upward', headStart = 0 } = options;
  const { numerator, denominator } = referenceValue;
  requireName(distribution, countDistributions, 'options.distribution');
  requireName(direction, ['upward', 'downward'], 'options.direction');
  if (distribution === 'binomial') requireWhole(size, 1, 1e6, 'options.size');
  else requireBetween(size, 1e-9, 1e9, 'options.size');
  requireBetween(level, 0, distribution === 'binomial' ? 1 : 1e9, 'options.level');
  requireWhole(numerator, 1, 1e6, 'options.referenceValue.numerator');
  requireWhole(denominator, 1, 100, 'options.referenceValue.denominator');
  requirePositive(decisionInterval, 'options.decisionInterval');
  requireBetween(decisionInterval, 0, 300 / denominator, 'options.decisionInterval');
  requireBetween(headStart, 0, decisionInterval, 'options.headStart');
  if (level * size > 1e6)
    throw new StatisticsError(
      'out-of-range',
      'options.level',
      level,
      'Expect at most 1e6 events in a sample.',
    );

  const most = largestMultiple(decisionInterval, denominator);
  const upward = direction === 'upward';
  const atMost = atMostEvents(distribution, size, level);
  const probability = (count: number) => atMost(count) - atMost(count - 1);
  const rows = Array.from({ length: most + 1 }, (_, from) => {
    const row = new Array<number>(most + 1).fill(0);
    row[from] = 1;
    // The sum falls to 0 or stays there.
    row[0]! -= upward
      ? atMost(Math.floor((numerator - from) / denominator))
      : 1 - atMost(Math.ceil((numerator + from) / denominator) - 1);
    for (let to = 1; to <= most; to++) {
      const events = (upward ? to - from + numerator : from + numerator - to) / denominator;
      if (Number.isInteger(events) && events >= 0) row[to]! -= probability(events);
    }
    return row;
  });
  const solution = solveLinear(
    rows,
    rows.map(() => [1]),
  );
  const averageRunLength = solution?.[largestMultiple(headStart, denominator)]?.[0];
  if (averageRunLength === undefined || !(averageRunLength >= 1 && averageRunLength <= longestRunLength))
    return {
      available: false,
      reason: 'not-reachable',
      message:
        'At this level the sum signals never, or less than once in 1e12 samples. Choose a smaller decision interval.',
    };
  return { available: true, method: 'exact Markov chain', averageRunLength, states: most + 1 };
}

/** The largest whole multiple of 1/denominator up to a number that may carry the rounding of a product. */
function largestMultiple(value: number, denominator: number): number {
  return Math.floor(value * denominator * (1 + 1e-12));
}

/** P(X ≤ count), each computed once. */
function atMostEvents(distribution: CountDistribution, size: number, level: number) {
  const known = new Map<number, number>();
  return (count: number): number => {
    if (count < 0) return 0;
    let probability = known.get(count);
    if (probability === undefined) {
      probability = cumulative(distribution, size, level, count);
      known.set(count, probability);
    }
    return probability;
  };
}

function cumulative(distribution: CountDistribution, size: number, level: number, count: number): number {
  if (level === 0 || (distribution === 'binomial' && count >= size)) return 1;
  if (distribution === 'poisson') return poissonLowerTail(count, size * level);
  return level === 1 ? 0 : binomialLowerTail(count, size, level);
}
