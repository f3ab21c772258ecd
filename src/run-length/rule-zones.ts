import { normalUpperTail } from '../numerics/normal.ts';
import { type RulePlan, ruleIndex } from '../run-rules/rule-words.ts';

/** A stretch of the standardised scale in which the chosen rules see no difference. */
export interface RuleZone {
  readonly from: number;
  readonly to: number;
  /** Beyond the control limits, where that is a rule. */
  readonly signals: boolean;
  /** −1, 0 or 1: side of the center line; 0 where no rule asks. */
  readonly side: number;
  /** −1, 1: beyond one (two) standard deviations on that side; 0: not beyond. */
  readonly beyondOne: number;
  readonly beyondTwo: number;
}

export const isActive = (plan: RulePlan, rule: keyof typeof ruleIndex): boolean =>
  ((plan.active >> ruleIndex[rule]) & 1) === 1;

/** The zones from bottom to top, cut only where a chosen rule looks. */
export function ruleZones(plan: RulePlan, multiple: number): RuleZone[] {
  const bounds = new Set<number>();
  if (isActive(plan, 'oneSide')) bounds.add(0);
  const one = isActive(plan, 'fourOfFive') || isActive(plan, 'within') || isActive(plan, 'outside');
  if (one) bounds.add(1);
  if (isActive(plan, 'twoOfThree')) bounds.add(2);
  if (isActive(plan, 'beyond')) bounds.add(multiple);
  const edges = [...bounds, ...[...bounds].map((bound) => 0 - bound)];
  const cuts = [...new Set(edges)].sort((a, b) => a - b);
  const ends = [Number.NEGATIVE_INFINITY, ...cuts, Number.POSITIVE_INFINITY];
  return ends.slice(1).map((to, place) => {
    const from = ends[place]!;
    const beyond = (bound: number) => (from >= bound ? 1 : to <= -bound ? -1 : 0);
    return {
      from,
      to,
      signals: isActive(plan, 'beyond') && beyond(multiple) !== 0,
      side: beyond(0),
      beyondOne: beyond(1),
      beyondTwo: beyond(2),
    };
  });
}

/** Probability of each zone for a plotted statistic with this mean and standard deviation, exact in both tails. */
export function zoneProbabilities(
  zones: readonly RuleZone[],
  shift: number,
  standardDeviationRatio: number,
): Float64Array {
  return Float64Array.from(zones, ({ from, to }) => {
    const low = (from - shift) / standardDeviationRatio;
    const high = (to - shift) / standardDeviationRatio;
    return low > 0
      ? normalUpperTail(low) - normalUpperTail(high)
      : normalUpperTail(-high) - normalUpperTail(-low);
  });
}
