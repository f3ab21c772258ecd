import { requireBetween, requireFinite, requireName, requirePositive, requireWhole } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';
import { normalQuantile, normalUpperTail } from '../../numerics/normal.ts';
import { monotoneRoot } from '../../numerics/root.ts';

/** Levels of the process mean on one side, in the unit of the characteristic. */
export interface AcceptanceSide {
  /** Acceptable process level (APL): a mean out to here is fine. */
  readonly acceptableLevel: number;
  /** Rejectable process level (RPL): a mean from here on must be found. */
  readonly rejectableLevel: number;
}

/** What the acceptance control limits are drawn from. */
export interface AcceptanceRule {
  /** Standard deviation of single readings inside a subgroup, > 0. */
  readonly withinSubgroupStandardDeviation: number;
  /** null where the specification has no limit on that side. */
  readonly lower: AcceptanceSide | null;
  readonly upper: AcceptanceSide | null;
  /** Probability of a signal with the mean at an acceptable level, > 0, at most 0.5. */
  readonly alpha: number;
  /** Probability of no signal with the mean at a rejectable level, > 0, at most 0.5. */
  readonly beta: number;
  /** Which of the two risks the limits keep exactly; the other one follows from the sample size. */
  readonly limitsFrom: 'acceptable-level' | 'rejectable-level';
}

/** What a chart needs of a plan. */
export interface AcceptanceBasis extends AcceptanceRule {
  /** Readings of a subgroup. */
  readonly sampleSize: number;
  /** Halfway between the acceptable levels; on a one-sided chart the acceptable level. */
  readonly centerLine: number;
}

export interface AcceptanceLines {
  readonly lower: number | null;
  readonly upper: number | null;
}

/** Acceptance control limits for the mean of `size` readings. They may be reversed where so few readings cannot tell. */
export function acceptanceLines(rule: AcceptanceRule, size: number): AcceptanceLines {
  const { lower, upper, alpha, beta, limitsFrom } = rule;
  const standardError = rule.withinSubgroupStandardDeviation / Math.sqrt(size);
  if (limitsFrom === 'rejectable-level') {
    const inside = -normalQuantile(beta) * standardError;
    return {
      lower: lower === null ? null : lower.rejectableLevel + inside,
      upper: upper === null ? null : upper.rejectableLevel - inside,
    };
  }
  const apart =
    lower === null || upper === null
      ? Infinity
      : (upper.acceptableLevel - lower.acceptableLevel) / standardError;
  const outside = acceptableDistance(alpha, apart) * standardError;
  return {
    lower: lower === null ? null : lower.acceptableLevel - outside,
    upper: upper === null ? null : upper.acceptableLevel + outside,
  };
}

/**
 * z with Q(z) + Q(z + apart) = alpha: at one acceptable level the limit beyond the other one, `apart` standard errors
 * away, counts too. From z(alpha/2) where both levels are one target to z(alpha) where they lie far apart.
 */
function acceptableDistance(alpha: number, apart: number): number {
  const farApart = -normalQuantile(alpha);
  if (apart > 40) return farApart;
  const excess = (z: number) => Math.log((normalUpperTail(z) + normalUpperTail(z + apart)) / alpha);
  return monotoneRoot(excess, farApart, -normalQuantile(alpha / 2)) ?? farApart;
}

/** Probability that a mean lies inside the lines, and outside, while the process mean is at `level`. */
export function probabilities(
  level: number,
  { lower, upper }: AcceptanceLines,
  standardError: number,
): { readonly inside: number; readonly outside: number } {
  const toLower = lower === null ? -Infinity : (lower - level) / standardError;
  const toUpper = upper === null ? Infinity : (upper - level) / standardError;
  const outside = Math.min(1, normalUpperTail(-toLower) + normalUpperTail(toUpper));
  // Where both lines lie on one side of the level, the difference of small tails keeps its digits.
  const inside =
    toLower > 0
      ? normalUpperTail(toLower) - normalUpperTail(toUpper)
      : toUpper < 0
        ? normalUpperTail(-toUpper) - normalUpperTail(-toLower)
        : 1 - outside;
  return { inside: Math.max(0, inside), outside };
}

/** The larger risk of either side, as the lines have them. */
export function achievedRisks(
  rule: AcceptanceRule,
  size: number,
): { readonly alpha: number; readonly beta: number } {
  const lines = acceptanceLines(rule, size);
  const standardError = rule.withinSubgroupStandardDeviation / Math.sqrt(size);
  let alpha = 0;
  let beta = 0;
  for (const side of [rule.lower, rule.upper]) {
    if (side === null) continue;
    alpha = Math.max(alpha, probabilities(side.acceptableLevel, lines, standardError).outside);
    beta = Math.max(beta, probabilities(side.rejectableLevel, lines, standardError).inside);
  }
  return { alpha, beta };
}

/** Checks a rule that was computed earlier and may have travelled. */
export function requireAcceptanceRule(rule: AcceptanceRule, argument: string): void {
  requirePositive(rule.withinSubgroupStandardDeviation, `${argument}.withinSubgroupStandardDeviation`);
  requireRisk(rule.alpha, `${argument}.alpha`);
  requireRisk(rule.beta, `${argument}.beta`);
  requireName(rule.limitsFrom, ['acceptable-level', 'rejectable-level'], `${argument}.limitsFrom`);
  if (rule.lower === null && rule.upper === null)
    throw new StatisticsError('no-limits', argument, rule, 'It needs a lower or an upper side.');
  for (const name of ['lower', 'upper'] as const) {
    const side = rule[name];
    if (side === null) continue;
    requireFinite(side.acceptableLevel, `${argument}.${name}.acceptableLevel`);
    requireFinite(side.rejectableLevel, `${argument}.${name}.rejectableLevel`);
    const zone = side.rejectableLevel - side.acceptableLevel;
    if (name === 'upper' ? zone <= 0 : zone >= 0)
      throw new StatisticsError(
        'limits-reversed',
        `${argument}.${name}.rejectableLevel`,
        side.rejectableLevel,
        'The rejectable level must lie beyond the acceptable one.',
      );
  }
  if (rule.lower !== null && rule.upper !== null && rule.lower.acceptableLevel > rule.upper.acceptableLevel)
    throw new StatisticsError(
      'limits-reversed',
      `${argument}.lower.acceptableLevel`,
      rule.lower.acceptableLevel,
      'The lower acceptable level must not lie above the upper one.',
    );
  const { lower, upper } = acceptanceLines(rule, 1);
  if (!Number.isFinite(lower ?? 0) || !Number.isFinite(upper ?? 0))
    throw new StatisticsError(
      'out-of-range',
      `${argument}.withinSubgroupStandardDeviation`,
      rule.withinSubgroupStandardDeviation,
      'The limits are too large to compute. Check the units.',
    );
}

export function requireRisk(value: number, argument: string): void {
  requirePositive(value, argument);
  requireBetween(value, 1e-12, 0.5, argument);
}

export const largestSampleSize = 10_000;

export function requireSampleSize(value: number, argument: string): void {
  requireWhole(value, 1, largestSampleSize, argument);
}
