import { requireBetween, requireName, requireWhole } from '../../checks.ts';
import type { Outcome } from '../../errors.ts';
import { betaQuantile } from '../../numerics/beta.ts';
import { chiSquareQuantile } from '../../numerics/chi-square.ts';
import { fQuantile } from '../../numerics/f-distribution.ts';
import type { LimitLines } from '../control-chart.ts';

/** 'first': the points are those that the standard was estimated from. 'second': points that came after. */
export type TSquaredPhase = 'first' | 'second';

export interface TSquaredLimitsOptions {
  /** Characteristics p, whole, 1 … 100. */
  readonly characteristics: number;
  /** Observations (or subgroups) m that the standard was estimated from; null for a known standard. */
  readonly samplesUsed: number | null;
  /** Observations n in a subgroup; 1 (the default) for individuals. */
  readonly subgroupSize?: number;
  /** Default 'second'. */
  readonly phase?: TSquaredPhase;
  /** Probability that a point of a stable process lies beyond the limit, 1e-9 … 0.5. Default 0.0027. */
  readonly falseAlarmProbability?: number;
  /** How the covariance of individuals was estimated. Default 'sample'. */
  readonly covariance?: 'sample' | 'successive-differences';
}

export interface TSquaredLimits extends LimitLines {
  /** Whether the limit is exact for normal values, or an approximation. */
  readonly exact: boolean;
}

/**
 * Limit of Hotelling's T² for p characteristics; α is the false-alarm probability of one point.
 *
 * - individuals, first phase: (m − 1)²/m · Beta(1 − α; p/2, (m − p − 1)/2);
 * - individuals, second phase: p(m + 1)(m − 1)/(m(m − p)) · F(1 − α; p, m − p);
 * - subgroups: p(m ∓ 1)(n − 1)/d · F(1 − α; p, d) with d = mn − m − p + 1, minus in the first phase, plus in the second;
 * - known standard: χ²(1 − α; p).
 *
 * With the covariance from successive differences no exact form is known. First phase: χ²(1 − α; p), whose simulated
 * false-alarm rates lie between 0.8 and 1.2 times α while m > p² + 3p; below that they are higher (p = 10, m = 50: 0.019
 * for 0.01). Second phase: the form above with m − 1 replaced by f = 2(m − 1)²/(3m − 4), whose simulated rates lie between
 * 0.8 and 1 times α from m = 10p on, and lower below (p = 5, m = 30: 0.7 times). The center line is the median of T² of a
 * stable process. T² has no lower limit.
 *
 * @param options  sizes whole, see each field.
 * @returns        the lines, and whether they are exact for normal values; Unavailable `singular-covariance` where m and
 *                 n are too small for p characteristics.
 * @throws         StatisticsError `out-of-range`, `not-an-integer`, `not-finite`, `unknown-name`.
 *
 * Source: Tracy, Young and Mason, Journal of Quality Technology 24(2), 1992; Montgomery, Introduction to Statistical
 * Quality Control, section 11.3; successive differences: Williams, Woodall, Birch and Sullivan, Journal of Quality
 * Technology 38(3), 2006 (first phase); Scholz and Tosch, ASA Proceedings, 1994 (f).
 *
 * @example
 * tSquaredLimits({ characteristics: 2, samplesUsed: 20, subgroupSize: 10, phase: 'first', falseAlarmProbability: 0.001 });
 * // available, upperControlLimit 13.7207…
 */
export function tSquaredLimits(options: TSquaredLimitsOptions): Outcome<TSquaredLimits> {
  const {
    characteristics: p,
    samplesUsed: m,
    subgroupSize: n = 1,
    phase = 'second',
    falseAlarmProbability = 0.0027,
    covariance = 'sample',
  } = options;
  requireWhole(p, 1, 100, 'options.characteristics');
  requireWhole(n, 1, 1e6, 'options.subgroupSize');
  requireName(phase, ['first', 'second'], 'options.phase');
  requireName(covariance, ['sample', 'successive-differences'], 'options.covariance');
  requireBetween(falseAlarmProbability, 1e-9, 0.5, 'options.falseAlarmProbability');
  if (m !== null) requireWhole(m, 1, 1e9, 'options.samplesUsed');

  const quantile =
    m === null ? knownStandard(p) : n > 1 ? subgroups(p, m, n, phase) : individuals(p, m, phase, covariance);
  if (quantile === null)
    return {
      available: false,
      reason: 'singular-covariance',
      message: `${m} ${n > 1 ? `subgroups of ${n}` : 'observations'} are too few for a limit for ${p} characteristics. Measure more parts, or chart fewer characteristics.`,
    };
  return {
    available: true,
    centerLine: quantile(0.5),
    lowerControlLimit: null,
    upperControlLimit: quantile(falseAlarmProbability),
    exact: m === null || n > 1 || covariance === 'sample',
  };
}

/** The value that T² exceeds with a probability; null where T² has no distribution. */
type UpperQuantile = ((probability: number) => number) | null;

function knownStandard(p: number): UpperQuantile {
  return (probability) => chiSquareQuantile(1 - probability, p);
}

function subgroups(p: number, m: number, n: number, phase: TSquaredPhase): UpperQuantile {
  const d = m * n - m - p + 1;
  if (d < 1 || (phase === 'first' && m < 2)) return null;
  const factor = ((p * (phase === 'first' ? m - 1 : m + 1)) / d) * (n - 1);
  return (probability) => factor * fUpperQuantile(probability, p, d);
}

function individuals(
  p: number,
  m: number,
  phase: TSquaredPhase,
  covariance: 'sample' | 'successive-differences',
): UpperQuantile {
  if (phase === 'first') {
    if (covariance === 'successive-differences') return m <= p ? null : knownStandard(p);
    const half = (m - p - 1) / 2;
    if (half <= 0) return null;
    // The quantile from the far tail, so that small probabilities keep their digits.
    return (probability) => ((m - 1) ** 2 / m) * (1 - betaQuantile(probability, half, p / 2));
  }
  const f = covariance === 'sample' ? m - 1 : (2 * (m - 1) ** 2) / (3 * m - 4);
  const d = f - p + 1;
  if (m < 2 || d < 1) return null;
  const factor = ((p * f) / d) * ((m + 1) / m);
  return (probability) => factor * fUpperQuantile(probability, p, d);
}

/** F(1 − probability; d1, d2), from the lower tail of the reciprocal, so that small probabilities keep their digits. */
function fUpperQuantile(probability: number, d1: number, d2: number): number {
  return 1 / fQuantile(probability, d2, d1);
}
