import { requireConfidence, requireWhole } from '../checks.ts';
import {
  hypergeometricLowerTail,
  hypergeometricProbability,
  hypergeometricUpperTail,
} from '../numerics/hypergeometric.ts';
import { normalQuantile, normalUpperTail } from '../numerics/normal.ts';

export interface CountedSample {
  /** Whole, 0 … sampleSize. */
  readonly nonconforming: number;
  /** Whole, 1 … 1e6. */
  readonly sampleSize: number;
}

export interface TwoProportionsOptions {
  /** 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
}

export interface TwoProportionsComparison {
  readonly method: 'Fisher and Newcombe';
  readonly confidence: number;
  /** Proportion of the first less that of the second. */
  readonly difference: number;
  /** Limits of the true difference after Newcombe: the ones to use. */
  readonly lower: number;
  readonly upper: number;
  /** The simple normal interval, too short for small counts; for comparison with older reports. */
  readonly simpleInterval: readonly [lower: number, upper: number];
  /** Exact two-sided p-value after Fisher. */
  readonly fisherPValue: number;
  /** null where its denominator is 0. */
  readonly oddsRatio: number | null;
  /** With the pooled proportion; 0 where that is 0 or 1. */
  readonly pooledStatistic: number;
  readonly pooledPValue: number;
  readonly message: string;
}

/**
 * Do two counts of nonconforming pieces (before and after a change) differ by more than chance explains?
 *
 * @returns  difference and its limits as fractions, −1 … 1.
 * @throws   StatisticsError `not-finite`, `not-an-integer`, `out-of-range` (first.…, second.…, options.confidence).
 *
 * Source: R. A. Fisher, Statistical Methods for Research Workers, § 21.02, two-sided by summing the tables that are not
 * more probable than the observed one; R. G. Newcombe, Statistics in Medicine 17 (1998) 873-890, method 10.
 *
 * @example
 * const before = { nonconforming: 3, sampleSize: 50 };
 * twoProportionsComparison(before, { nonconforming: 10, sampleSize: 60 });
 * // fisherPValue 0.1365…, lower -0.2269…, upper 0.0192…
 */
export function twoProportionsComparison(
  first: CountedSample,
  second: CountedSample,
  options: TwoProportionsOptions = {},
): TwoProportionsComparison {
  const { confidence = 0.95 } = options;
  requireConfidence(confidence, 'options.confidence');
  requireCounts(first, 'first');
  requireCounts(second, 'second');
  const [a, c] = [first.nonconforming, second.nonconforming];
  const [n, m] = [first.sampleSize, second.sampleSize];
  const [p, q] = [a / n, c / m];
  const difference = p - q;
  const z = -normalQuantile((1 - confidence) / 2);
  const simpleWidth = z * Math.sqrt((p * (1 - p)) / n + (q * (1 - q)) / m);
  const [one, other] = [scoreInterval(a, n, z), scoreInterval(c, m, z)];
  const fisherPValue = fisher(a, n, a + c, n + m);
  const pooled = (a + c) / (n + m);
  const pooledStatistic =
    pooled === 0 || pooled === 1 ? 0 : difference / Math.sqrt(pooled * (1 - pooled) * (1 / n + 1 / m));
  return {
    method: 'Fisher and Newcombe',
    confidence,
    difference,
    lower: difference - Math.hypot(p - one[0], other[1] - q),
    upper: difference + Math.hypot(one[1] - p, q - other[0]),
    simpleInterval: [difference - simpleWidth, difference + simpleWidth],
    fisherPValue,
    oddsRatio: (n - a) * c === 0 ? null : (a * (m - c)) / ((n - a) * c),
    pooledStatistic,
    pooledPValue: Math.min(1, 2 * normalUpperTail(Math.abs(pooledStatistic))),
    message:
      fisherPValue < 1 - confidence
        ? 'The proportions differ by more than chance explains: look for what changed.'
        : 'The difference may be chance. This does not prove the proportions equal: read the interval for how large it may still be.',
  };
}

function requireCounts({ nonconforming, sampleSize }: CountedSample, argument: string): void {
  requireWhole(sampleSize, 1, 1e6, `${argument}.sampleSize`);
  requireWhole(nonconforming, 0, sampleSize, `${argument}.nonconforming`);
}

/** Wilson's interval for one proportion. */
function scoreInterval(count: number, size: number, z: number): readonly [number, number] {
  const p = count / size;
  const square = (z * z) / size;
  const middle = (p + square / 2) / (1 + square);
  const width = Math.sqrt(p * (1 - p) * square + square ** 2 / 4) / (1 + square);
  return [count === 0 ? 0 : middle - width, count === size ? 1 : middle + width];
}

/** Both tails of the counts that are not more probable (to 7 digits) than the one observed. */
function fisher(count: number, draws: number, marked: number, total: number): number {
  const probability = (k: number) => hypergeometricProbability(k, draws, marked, total);
  const limit = probability(count) * (1 + 1e-7);
  const least = Math.max(0, draws + marked - total);
  const most = Math.min(draws, marked);
  const mode = Math.floor(((draws + 1) * (marked + 1)) / (total + 2));
  if (probability(mode) <= limit) return 1;
  // Up to the mode the probabilities rise, from there they fall.
  let [below, above] = [least - 1, mode];
  while (above - below > 1) {
    const middle = Math.floor((below + above) / 2);
    if (probability(middle) <= limit) below = middle;
    else above = middle;
  }
  const lower = below < least ? 0 : hypergeometricLowerTail(below, draws, marked, total);
  let [inside, outside] = [mode, most + 1];
  while (outside - inside > 1) {
    const middle = Math.floor((inside + outside) / 2);
    if (probability(middle) <= limit) outside = middle;
    else inside = middle;
  }
  return Math.min(1, lower + (outside > most ? 0 : hypergeometricUpperTail(outside, draws, marked, total)));
}
