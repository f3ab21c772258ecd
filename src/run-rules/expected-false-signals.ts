import { requireWhole } from '../checks.ts';
import { normalUpperTail } from '../numerics/normal.ts';
import { planRules, ruleIndex } from './rule-words.ts';
import type { RunRuleSettings } from './run-rule.ts';

/** Chance of a normal value beyond three, two, one standard deviations on one side. */
const beyondThree = normalUpperTail(3);
const beyondTwo = normalUpperTail(2);
const beyondOne = normalUpperTail(1);
/** Orderings of fourteen that go up and down in turn, over all: 2 · 199360981 / 14!. */
const alternatingOrders = (2 * 199_360_981) / 87_178_291_200;

/**
 * How many signals of run rules chance alone gives on a long series of a steady process, counted as findSignals counts
 * them: every rule at every point that completes its pattern. Limits alone give 0.27 % of the points.
 *
 * Exact for independent, normal values and known limits on both sides. Limits from few samples, spreads of small
 * samples and skewed values give more. Signals of rules that look back come in clumps, so their number varies more than
 * a Poisson number of this mean.
 *
 * @param points    points judged in a row, whole, 0 … 10¹⁵.
 * @param settings  the rules in use, with their options. Default: the control limits alone.
 * @returns         expected number, dimensionless.
 * @throws          StatisticsError `not-an-integer`, `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: ISO 7870-1, chance of a point outside the limits; rules as findSignals; number of alternating permutations:
 * André, Comptes Rendus 88, 1879 (cited from memory), OEIS A000111.
 *
 * @example
 * expectedFalseSignals(1000);
 * // 2.699…
 */
export function expectedFalseSignals(
  points: number,
  settings: RunRuleSettings = { rules: ['one-beyond-three-sigma'] },
): number {
  requireWhole(points, 0, 1e15, 'points');
  const plan = planRules(settings, 'settings');
  // Chance to fire at the first, second … point; the last figure holds at every later one.
  const fires: Record<keyof typeof ruleIndex, readonly number[]> = {
    beyond: [2 * beyondThree],
    twoOfThree: [0, 2 * beyondTwo ** 2, 2 * beyondTwo * (1 - (1 - beyondTwo) ** 2)],
    fourOfFive: [0, 0, 0, 2 * beyondOne ** 4, 2 * beyondOne ** 4 * (4 - 3 * beyondOne)],
    oneSide: after(plan.oneSideRunLength, 2 * 0.5 ** plan.oneSideRunLength),
    trend: after(6, 2 / 720),
    alternating: after(14, alternatingOrders),
    within: after(15, (1 - 2 * beyondOne) ** 15),
    outside: after(8, (2 * beyondOne) ** 8 - (plan.bothSides ? 2 * beyondOne ** 8 : 0)),
  };
  let expected = 0;
  for (const [name, chances] of Object.entries(fires)) {
    if (((plan.active >> ruleIndex[name as keyof typeof ruleIndex]) & 1) === 0) continue;
    const first = Math.min(points, chances.length - 1);
    for (let point = 0; point < first; point++) expected += chances[point]!;
    expected += Math.max(0, points - chances.length + 1) * chances.at(-1)!;
  }
  return expected;
}

/** A pattern of so many points cannot be complete before. */
function after(length: number, chance: number): number[] {
  return [...Array<number>(length - 1).fill(0), chance];
}
