import { requireBetween, requireFinite, requireName } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { chiSquareQuantile } from '../numerics/chi-square.ts';
import { noncentralityOf, noncentralTQuantile } from '../numerics/noncentral-t.ts';
import { normalQuantile } from '../numerics/normal.ts';

export type IndexIntervalMethod = 'chi-square' | 'Bissell' | 'Heavlin' | 'noncentral t' | 'Boyles';

/** How well an index is known. All dimensionless. */
export interface IndexInterval {
  readonly method: IndexIntervalMethod;
  readonly confidence: number;
  /** Two-sided: the true index lies between them with the confidence. */
  readonly lower: number;
  readonly upper: number;
  /** One-sided: the true index is above (below) it with the confidence. */
  readonly lowerBound: number;
  readonly upperBound: number;
}

export interface IndexIntervalOptions {
  /** Readings behind the mean, n ≥ 2. */
  readonly sampleSize: number;
  /** Of the standard deviation, at least 0.5; need not be whole. Default n − 1. */
  readonly degreesOfFreedom?: number;
  /** Default 0.95. */
  readonly confidence?: number;
}

/** The four probabilities at which a bound is taken, from low bound to high. */
function fromQuantiles(
  method: IndexIntervalMethod,
  confidence: number,
  bound: (confidenceBelow: number) => number,
): IndexInterval {
  const half = (1 - confidence) / 2;
  return {
    method,
    confidence,
    lower: bound(half),
    upper: bound(1 - half),
    lowerBound: bound(1 - confidence),
    upperBound: bound(confidence),
  };
}

/**
 * Interval for Cp or Pp. Exact for normal values when the standard deviation is the pooled or the overall one.
 *
 * @throws StatisticsError `not-finite`, `out-of-range`.
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, eq. 8.20: Ĉp·√(χ²(p, ν)/ν).
 *
 * @example
 * toleranceIndexInterval(1.5, { sampleSize: 20 });
 * // lowerBound 1.0945…
 */
export function toleranceIndexInterval(estimate: number, options: IndexIntervalOptions): IndexInterval {
  const { degreesOfFreedom, confidence } = checked(estimate, options);
  return fromQuantiles(
    'chi-square',
    confidence,
    (p) => estimate * Math.sqrt(chiSquareQuantile(p, degreesOfFreedom) / degreesOfFreedom),
  );
}

/**
 * Interval for a two-sided Cpk or Ppk, by the normal approximation of its distribution. No formula is exact; for a lower
 * bound that is never too high see guaranteedLowerBound in bootstrapIndex.
 *
 * Bissell (default): variance 1/(9n) + Cpk²/(2ν). Heavlin, which suits small samples better and needs n > 3:
 * (n − 1)/(9n(n − 3)) + Cpk²/(2(n − 3))·(1 + 6/(n − 1)).
 *
 * @throws StatisticsError `not-finite`, `out-of-range`, `unknown-name`, `too-few-values` (Heavlin with n ≤ 3).
 *
 * Source: Bissell, Applied Statistics 39 (1990) 331-340; Heavlin 1988 as cited in Kotz and Johnson, Process
 * Capability Indices, 1993 (from memory).
 *
 * @example
 * smallestIndexInterval(1.33, { sampleSize: 20 });
 * // lowerBound 0.9545…
 */
export function smallestIndexInterval(
  estimate: number,
  options: IndexIntervalOptions & { readonly method?: 'Bissell' | 'Heavlin' },
): IndexInterval {
  const { sampleSize: n, degreesOfFreedom, confidence } = checked(estimate, options);
  const { method = 'Bissell' } = options;
  requireName(method, ['Bissell', 'Heavlin'], 'options.method');
  if (method === 'Heavlin' && n <= 3)
    throw new StatisticsError(
      'too-few-values',
      'options.sampleSize',
      n,
      'The method needs more than 3 readings.',
    );
  const variance =
    method === 'Bissell'
      ? 1 / (9 * n) + estimate ** 2 / (2 * degreesOfFreedom)
      : (n - 1) / (9 * n * (n - 3)) + (estimate ** 2 / (2 * (n - 3))) * (1 + 6 / (n - 1));
  return fromQuantiles(method, confidence, (p) => estimate + normalQuantile(p) * Math.sqrt(variance));
}

/**
 * Interval for a one-sided index: Cpl, Cpu, Ppl, Ppu. Exact for normal values when the standard deviation is the
 * pooled or the overall one: 3√n·Ĉ follows a noncentral t distribution with noncentrality 3√n·C.
 *
 * @throws StatisticsError `not-finite`, `out-of-range`.
 *
 * Source: Chou, Owen and Borrego, Journal of Quality Technology 22 (1990) 223-229.
 *
 * @example
 * oneSidedIndexInterval(1.5, { sampleSize: 20 });
 * // lowerBound 1.0750…
 */
export function oneSidedIndexInterval(estimate: number, options: IndexIntervalOptions): IndexInterval {
  const { sampleSize, degreesOfFreedom, confidence } = checked(estimate, options);
  const factor = 3 * Math.sqrt(sampleSize);
  return fromQuantiles(
    'noncentral t',
    confidence,
    (p) => found(noncentralityOf(factor * estimate, degreesOfFreedom, 1 - p), estimate) / factor,
  );
}

/**
 * Interval for Cpm, by a chi-square approximation that matches the first two moments of the mean square about the
 * target.
 *
 * @param targetDistance  distance of the mean from the target in standard deviations.
 * @throws StatisticsError `not-finite`, `out-of-range`.
 *
 * Source: Boyles, Journal of Quality Technology 23 (1991) 17-26 (cited from memory; coverage checked by simulation).
 *
 * @example
 * targetIndexInterval(1.2, 0.5, { sampleSize: 50 });
 * // lowerBound 1.0046…, degreesOfFreedom 52.083…
 */
export function targetIndexInterval(
  estimate: number,
  targetDistance: number,
  options: IndexIntervalOptions,
): IndexInterval & { readonly degreesOfFreedom: number } {
  const { sampleSize, confidence } = checked(estimate, options);
  requireBetween(targetDistance, -1e6, 1e6, 'targetDistance');
  const square = targetDistance ** 2;
  const degreesOfFreedom = (sampleSize * (1 + square) ** 2) / (1 + 2 * square);
  const interval = fromQuantiles(
    'Boyles',
    confidence,
    (p) => estimate * Math.sqrt(chiSquareQuantile(p, degreesOfFreedom) / degreesOfFreedom),
  );
  return { ...interval, degreesOfFreedom };
}

/**
 * The one-sided index that n readings must show for the lower confidence bound to reach `required`: what a study
 * has to bring, known before it is made.
 *
 * @throws StatisticsError `not-finite`, `out-of-range`.
 *
 * Source: Chou, Owen and Borrego, Journal of Quality Technology 22 (1990) 223-229.
 *
 * @example
 * estimateNeeded(1.33, { sampleSize: 50 });
 * // 1.6119…
 */
export function estimateNeeded(required: number, options: IndexIntervalOptions): number {
  const { sampleSize, degreesOfFreedom, confidence } = checked(required, options);
  const factor = 3 * Math.sqrt(sampleSize);
  return found(noncentralTQuantile(confidence, degreesOfFreedom, factor * required), required) / factor;
}

function found(root: number | null, estimate: number): number {
  if (root === null)
    throw new StatisticsError(
      'out-of-range',
      'estimate',
      estimate,
      'No bound can be computed for an index of this size.',
    );
  return root;
}

function checked(estimate: number, options: IndexIntervalOptions) {
  const { sampleSize, degreesOfFreedom = sampleSize - 1, confidence = 0.95 } = options;
  requireFinite(estimate, 'estimate');
  if (Math.abs(estimate) > 1e12)
    throw new StatisticsError('out-of-range', 'estimate', estimate, 'An index above 1e12 is no measurement.');
  requireBetween(sampleSize, 2, 1e9, 'options.sampleSize');
  requireBetween(degreesOfFreedom, 0.5, 1e9, 'options.degreesOfFreedom');
  requireIndexConfidence(confidence, 'options.confidence');
  return { sampleSize, degreesOfFreedom, confidence };
}

/** The confidences at which a bound still means something. */
export function requireIndexConfidence(confidence: number, argument: string): void {
  requireBetween(confidence, 0.5, 0.9999, argument);
}
