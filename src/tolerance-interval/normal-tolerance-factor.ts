import { requireBetween, requireConfidence, requireName, requireWhole } from '../checks.ts';
import type { Outcome, Unavailable } from '../errors.ts';
import { chiSquareQuantile } from '../numerics/chi-square.ts';
import { noncentralTQuantile } from '../numerics/noncentral-t.ts';
import { normalQuantile } from '../numerics/normal.ts';
import { coveringHalfWidth, exactTwoSidedFactor } from './two-sided-factor.ts';

export interface NormalToleranceFactorOptions {
  /** Readings behind the mean, 1 … 1e9; from 2 where the standard deviation comes from the same readings. */
  readonly sampleSize: number;
  /** Share of all future readings that the interval holds, 0.001 … 1 − 1e-9, e.g. 0.99. */
  readonly coverage: number;
  /** How sure that is, 0.001 … 1 − 1e-9. Default 0.95. */
  readonly confidence?: number;
  /** Default 'two-sided'. */
  readonly sides?: 'one-sided' | 'two-sided';
  /** 'exact' (default) or, two-sided only, the approximation of Howe, which many tables print. */
  readonly method?: 'exact' | 'Howe';
  /**
   * Of the standard deviation: 0.5 … 1e9, or 'known' where it needs no estimate. Default sampleSize − 1; larger where
   * it was pooled over several samples.
   */
  readonly degreesOfFreedom?: number | 'known';
}

export interface NormalToleranceFactor {
  readonly method: 'noncentral t' | 'exact' | 'Howe' | 'known standard deviation';
  /** The interval is mean ± factor · standard deviation (one side of it where one-sided). */
  readonly factor: number;
  readonly sampleSize: number;
  readonly degreesOfFreedom: number | 'known';
  readonly coverage: number;
  readonly confidence: number;
  readonly sides: 'one-sided' | 'two-sided';
}

/**
 * How many standard deviations from the mean an interval must reach to hold a given share of a normal population, with
 * a given confidence, although mean and standard deviation are only estimated.
 *
 * - one-sided: quantile of the noncentral t distribution, exact;
 * - two-sided 'exact': by quadrature over the distribution of the mean, relative error about 1e-9;
 * - two-sided 'Howe': z · √(ν(1 + 1/n)/χ²(1 − confidence, ν)); within 1 % of the exact factor for n of 5 and more, up
 *   to 10 % too large for n = 2, and too small where the degrees of freedom are many more than n;
 * - known standard deviation: exact, by the normal distribution.
 *
 * @returns  the factor, dimensionless; Unavailable `not-reachable` where none could be computed.
 * @throws   StatisticsError `not-finite`, `not-an-integer`, `out-of-range`, `unknown-name` (options.…).
 *
 * Source: ISO 16269-6; Odeh and Owen, Tables for Normal Tolerance Limits, Sampling Plans, and Screening (1980); Howe,
 * Journal of the American Statistical Association 64 (1969) 610-620.
 *
 * @example
 * normalToleranceFactor({ sampleSize: 20, coverage: 0.95 });
 * // available, factor 2.760…, method "exact"
 */
export function normalToleranceFactor(options: NormalToleranceFactorOptions): Outcome<NormalToleranceFactor> {
  const { sampleSize, coverage, confidence = 0.95, sides = 'two-sided', method = 'exact' } = options;
  const { degreesOfFreedom = sampleSize - 1 } = options;
  requireWhole(sampleSize, options.degreesOfFreedom === undefined ? 2 : 1, 1e9, 'options.sampleSize');
  requireConfidence(coverage, 'options.coverage');
  requireConfidence(confidence, 'options.confidence');
  requireName(sides, ['one-sided', 'two-sided'], 'options.sides');
  requireName(method, ['exact', 'Howe'], 'options.method');
  if (degreesOfFreedom !== 'known') requireBetween(degreesOfFreedom, 0.5, 1e9, 'options.degreesOfFreedom');
  const result = (name: NormalToleranceFactor['method'], factor: number | null) =>
    factor === null || !Number.isFinite(factor)
      ? notReachable
      : {
          available: true as const,
          method: name,
          factor,
          sampleSize,
          degreesOfFreedom,
          coverage,
          confidence,
          sides,
        };
  const root = Math.sqrt(sampleSize);

  if (degreesOfFreedom === 'known')
    return result(
      'known standard deviation',
      sides === 'one-sided'
        ? normalQuantile(coverage) + normalQuantile(confidence) / root
        : coveringHalfWidth(-normalQuantile((1 - confidence) / 2) / root, coverage),
    );
  if (sides === 'one-sided') {
    const quantile = noncentralTQuantile(confidence, degreesOfFreedom, normalQuantile(coverage) * root);
    return result('noncentral t', quantile === null ? null : quantile / root);
  }
  const howe =
    -normalQuantile((1 - coverage) / 2) *
    Math.sqrt(
      (degreesOfFreedom * (1 + 1 / sampleSize)) / chiSquareQuantile(1 - confidence, degreesOfFreedom),
    );
  if (method === 'Howe') return result('Howe', howe);
  return result('exact', exactTwoSidedFactor({ sampleSize, degreesOfFreedom, coverage, confidence }, howe));
}

const notReachable: Unavailable = {
  available: false,
  reason: 'not-reachable',
  message: 'No factor was found for so extreme a request. Measure more readings, or ask for less.',
};
