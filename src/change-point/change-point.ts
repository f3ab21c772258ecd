import { requireBetween, requireSameLength, requireWhole } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';

/** When did the process change? Places count from 0, words from 1. */
export interface ChangePoint {
  readonly kind: 'mean' | 'mean, both levels unknown' | 'variance' | 'poisson' | 'binomial' | 'linear drift';
  /** Samples that were looked at. */
  readonly n: number;
  /** At t: ln of the likelihood of 'changed after the first t samples' over that of 'not changed', ≥ 0; null where not defined. */
  readonly logLikelihood: readonly (number | null)[];
  /** The largest of them. */
  readonly maximum: number;
  /** Number of samples before the change, which is the place of the first sample after it; the earliest on a tie. */
  readonly changePoint: number;
  /** The changed parameter after the change. */
  readonly estimate: number;
  /** Every t whose log-likelihood lies at most `drop` below the largest, ascending. */
  readonly plausible: readonly number[];
  /** One plain sentence: since when. */
  readonly message: string;
}

export interface PlausibleOptions {
  /** How far below the largest log-likelihood a start is still plausible, 0 … 1000. Default 2. */
  readonly drop?: number;
}

/** Readings behind each value: one number for all, or one each. */
export interface SizeOptions {
  /** Whole, 1 … 10⁶. Default 1. */
  readonly size?: number;
  /** One entry a value; overrules `size`. */
  readonly sizes?: readonly number[];
}

/** Ties and plausible starts are judged up to rounding of the likelihood. */
const rounding = 1e-12;

/**
 * The place of the largest log-likelihood, the plausible places, and the words for them.
 *
 * @param argument  what the caller calls the data, for errors.
 */
export function changePointOf(
  kind: ChangePoint['kind'],
  logLikelihood: readonly (number | null)[],
  estimateAfter: (changePoint: number) => number,
  options: PlausibleOptions,
  argument: string,
): Outcome<ChangePoint> {
  const { drop = 2 } = options;
  requireBetween(drop, 0, 1000, 'options.drop');
  let maximum = 0;
  for (const value of logLikelihood) {
    if (value === null) continue;
    if (!Number.isFinite(value))
      throw new StatisticsError('out-of-range', argument, value, 'The values are too large to compute with.');
    maximum = Math.max(maximum, value);
  }
  const atLeast = (least: number) => (value: number | null) =>
    value !== null && value >= least - rounding * maximum;
  const changePoint = logLikelihood.findIndex(atLeast(maximum));
  const isPlausible = atLeast(maximum - drop);
  const plausible = logLikelihood.flatMap((value, t) => (isPlausible(value) ? [t] : []));
  const estimate = estimateAfter(changePoint);
  if (!Number.isFinite(estimate))
    throw new StatisticsError(
      'out-of-range',
      argument,
      estimate,
      'The values are too large to compute with.',
    );
  return {
    available: true,
    kind,
    n: logLikelihood.length,
    logLikelihood,
    maximum,
    changePoint,
    estimate,
    plausible,
    message: sinceWhen(changePoint, plausible),
  };
}

/** Since when, in words; places become numbers that count from 1. */
function sinceWhen(changePoint: number, plausible: readonly number[]): string {
  const first = plausible[0]! + 1;
  const last = plausible.at(-1)! + 1;
  const range =
    first === last
      ? 'No other start is plausible.'
      : `Starts from sample ${first} to sample ${last} are plausible.`;
  return changePoint === 0
    ? `If the process changed, it most likely did before the first of these samples. ${range} Look at earlier samples.`
    : `If the process changed, it most likely did between sample ${changePoint} and sample ${changePoint + 1}. ${range} Look in the log for what was done then.`;
}

/** Sizes of all samples, checked. */
export function sizesOf({ size = 1, sizes }: SizeOptions, count: number, least: number): readonly number[] {
  requireWhole(size, least, 1e6, 'options.size');
  if (sizes === undefined) return new Array<number>(count).fill(size);
  requireSameLength(sizes.length, count, 'options.sizes', 'the data');
  sizes.forEach((one, index) => {
    requireWhole(one, least, 1e6, `options.sizes.${index}`);
  });
  return sizes;
}

/** At t: the sum of the entries from t on. */
export function sumsFrom(values: readonly number[]): number[] {
  const sums = new Array<number>(values.length);
  let sum = 0;
  for (let index = values.length - 1; index >= 0; index--) {
    sum += values[index]!;
    sums[index] = sum;
  }
  return sums;
}
