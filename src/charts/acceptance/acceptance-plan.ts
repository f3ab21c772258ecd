import { effectiveLimits, type SpecificationLimits } from '../../capability/specification.ts';
import { requireBetween, requireFinite, requireName, requirePositive } from '../../checks.ts';
import { type Outcome, StatisticsError, type Unavailable } from '../../errors.ts';
import { normalQuantile } from '../../numerics/normal.ts';
import {
  type AcceptanceBasis,
  type AcceptanceRule,
  type AcceptanceSide,
  acceptanceLines,
  achievedRisks,
  largestSampleSize,
  requireRisk,
  requireSampleSize,
} from './acceptance-limits.ts';

/**
 * Where the process mean may be: by the fraction of single pieces beyond the specification limit of that side (above 0, at
 * most 0.5), or as levels in the unit of the characteristic, one for each side that the specification has.
 */
export type ProcessLevels =
  | { readonly fractionNonconforming: number }
  | { readonly lower?: number | null; readonly upper?: number | null };

export interface AcceptancePlanOptions {
  /** Standard deviation of single readings inside a subgroup, > 0, from a process whose spread is in control. */
  readonly withinSubgroupStandardDeviation: number;
  /** Acceptable process level (APL). */
  readonly acceptable: ProcessLevels;
  /** Rejectable process level (RPL). */
  readonly rejectable: ProcessLevels;
  /** Risk of a signal at the acceptable level, > 0, at most 0.5. Default 0.05. */
  readonly alpha?: number;
  /** Risk of no signal at the rejectable level, > 0, at most 0.5. Default 0.05. */
  readonly beta?: number;
  /** Readings of a subgroup, 1 … 10 000. Default: the fewest that keep both risks. */
  readonly sampleSize?: number;
  /** Which risk the limits keep exactly. Default 'acceptable-level'. */
  readonly limitsFrom?: AcceptanceRule['limitsFrom'];
}

/** Everything an acceptance control chart needs, ready to be stored. */
export interface AcceptancePlan extends AcceptanceBasis {
  /** Lines of the chart for means of sampleSize readings. */
  readonly lowerAcceptanceControlLimit: number | null;
  readonly upperAcceptanceControlLimit: number | null;
  /** The risks that whole sample sizes give, the larger one of the sides. */
  readonly achievedAlpha: number;
  readonly achievedBeta: number;
  readonly keepsBothRisks: boolean;
}

/**
 * Acceptance control limits from the specification, for a process that has room: its mean may move, as long as hardly
 * a piece leaves the specification. Unlike control limits they say whether the level is acceptable, not whether it
 * changed.
 *
 * Limit = acceptable level + z(alpha)·σ/√n, or rejectable level − z(beta)·σ/√n, and likewise below; both meet where
 * n = [(z(alpha) + z(beta))·σ/(rejectable − acceptable level)]². With two sides close together the far limit adds to the
 * risk alpha; the limits keep alpha exactly then, from z(alpha/2) where both levels are one target.
 *
 * @param specification  limits in the unit of the characteristic; a limit at a natural bound does not count.
 * @param options        standard deviation, levels, risks, sample size.
 * @returns              sample size, limits, levels and the risks that they really have. Unavailable `not-reachable` where the
 *                       zones are reversed (the specification is too narrow for the spread, or the rejectable level is not
 *                       beyond the acceptable one), where no sample size up to 10 000 keeps both risks, or where the limits
 *                       of a given sample size are reversed; `no-specification-limit`.
 * @throws               StatisticsError `not-finite`, `out-of-range`, `not-an-integer`, `unknown-name`,
 *                       `limits-reversed`, `target-outside` (name the field).
 *
 * Source: ISO 7870-3, acceptance control charts; Freund, Acceptance control charts, Industrial Quality Control 14(4), 1957
 * (formulas cited from memory).
 *
 * @example
 * acceptancePlan({ lowerSpecificationLimit: 9.5, upperSpecificationLimit: 10.5 }, {
 *   withinSubgroupStandardDeviation: 0.08,
 *   acceptable: { fractionNonconforming: 0.0001 }, rejectable: { fractionNonconforming: 0.01 },
 * });
 * // available, sampleSize 6, upper.acceptableLevel 10.202…, upperAcceptanceControlLimit 10.256…, achievedBeta 0.0386…
 */
export function acceptancePlan(
  specification: SpecificationLimits,
  options: AcceptancePlanOptions,
): Outcome<AcceptancePlan> {
  const { withinSubgroupStandardDeviation, alpha = 0.05, beta = 0.05, sampleSize } = options;
  const { limitsFrom = 'acceptable-level' } = options;
  requirePositive(withinSubgroupStandardDeviation, 'options.withinSubgroupStandardDeviation');
  requireRisk(alpha, 'options.alpha');
  requireRisk(beta, 'options.beta');
  requireName(limitsFrom, ['acceptable-level', 'rejectable-level'], 'options.limitsFrom');
  if (sampleSize !== undefined) requireSampleSize(sampleSize, 'options.sampleSize');
  const limits = effectiveLimits(specification);
  if ('available' in limits) return limits;

  const sideOf = (name: 'lower' | 'upper'): AcceptanceSide | null => {
    const limit = limits[name];
    if (limit === null) return null;
    const sign = name === 'upper' ? 1 : -1;
    const level = (levels: ProcessLevels, argument: string) =>
      levelOf(levels, name, limit, sign * withinSubgroupStandardDeviation, argument);
    return {
      acceptableLevel: level(options.acceptable, 'options.acceptable'),
      rejectableLevel: level(options.rejectable, 'options.rejectable'),
    };
  };
  const lower = sideOf('lower');
  const upper = sideOf('upper');
  if (lower !== null && upper !== null && lower.acceptableLevel > upper.acceptableLevel)
    return notReachable(
      'The specification is too narrow for this spread: the lower acceptable level lies above the upper one. Reduce the spread before charting the level.',
    );
  const zones = [
    ...(upper === null ? [] : [upper.rejectableLevel - upper.acceptableLevel]),
    ...(lower === null ? [] : [lower.acceptableLevel - lower.rejectableLevel]),
  ];
  const zone = Math.min(...zones);
  if (!(zone > 0))
    return notReachable(
      'The rejectable level does not lie beyond the acceptable one, so no limit can part them. Allow fewer nonconforming pieces at the acceptable level, or more at the rejectable one.',
    );
  if (zone === Infinity) throw tooLarge(options);

  const rule: AcceptanceRule = { withinSubgroupStandardDeviation, lower, upper, alpha, beta, limitsFrom };
  const size = sampleSize ?? fewestReadings(rule, zone);
  if (size === null)
    return notReachable(
      `More than ${largestSampleSize} readings a subgroup would be needed to keep both risks. Move the levels apart or allow larger risks.`,
    );
  const lines = acceptanceLines(rule, size);
  if (lines.lower !== null && lines.upper !== null && lines.lower >= lines.upper)
    return notReachable(
      `The limits for ${size} readings are reversed: so few readings cannot show that the level is not rejectable. Take larger subgroups.`,
    );
  const levels = [lower, upper].flatMap((side) => (side === null ? [] : [side.acceptableLevel]));
  const centerLine = levels.reduce((sum, level) => sum + level / levels.length, 0);
  if (![lines.lower ?? 0, lines.upper ?? 0, centerLine].every(Number.isFinite)) throw tooLarge(options);
  const achieved = achievedRisks(rule, size);
  return {
    available: true,
    ...rule,
    sampleSize: size,
    lowerAcceptanceControlLimit: lines.lower,
    upperAcceptanceControlLimit: lines.upper,
    centerLine,
    achievedAlpha: achieved.alpha,
    achievedBeta: achieved.beta,
    keepsBothRisks: keeps(rule, size),
  };
}

/** The level itself, or where this fraction of pieces lies beyond the limit. `spread` is negative below. */
function levelOf(
  levels: ProcessLevels,
  name: 'lower' | 'upper',
  limit: number,
  spread: number,
  argument: string,
): number {
  if ('fractionNonconforming' in levels) {
    const { fractionNonconforming } = levels;
    requirePositive(fractionNonconforming, `${argument}.fractionNonconforming`);
    requireBetween(fractionNonconforming, 1e-15, 0.5, `${argument}.fractionNonconforming`);
    return limit + normalQuantile(fractionNonconforming) * spread;
  }
  const level = levels[name] ?? null;
  if (level === null)
    throw new StatisticsError(
      'no-limits',
      `${argument}.${name}`,
      level,
      'The specification has a limit on this side, so a level is needed there too.',
    );
  requireFinite(level, `${argument}.${name}`);
  return level;
}

/** From the closed formula upwards: rounding, and a far limit close by, add a few readings at most. */
function fewestReadings(rule: AcceptanceRule, zone: number): number | null {
  const z = -normalQuantile(rule.alpha) - normalQuantile(rule.beta);
  const formula = ((z * rule.withinSubgroupStandardDeviation) / zone) ** 2;
  // A whole number that rounding has lifted by a hair stays that number.
  for (let size = Math.max(1, Math.ceil(formula * (1 - 1e-12))); size <= largestSampleSize; size++)
    if (keeps(rule, size)) return size;
  return null;
}

function keeps(rule: AcceptanceRule, size: number): boolean {
  const { alpha, beta } = achievedRisks(rule, size);
  return alpha <= rule.alpha + 1e-9 && beta <= rule.beta + 1e-9;
}

function tooLarge({ withinSubgroupStandardDeviation }: AcceptancePlanOptions): StatisticsError {
  return new StatisticsError(
    'out-of-range',
    'options.withinSubgroupStandardDeviation',
    withinSubgroupStandardDeviation,
    'The limits are too large to compute. Check the units.',
  );
}

function notReachable(message: string): Unavailable {
  return { available: false, reason: 'not-reachable', message };
}
