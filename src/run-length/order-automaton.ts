import type { RulePlan } from '../run-rules/rule-words.ts';
import { isActive } from './rule-zones.ts';

/** What the rules of trend and alternation remember of ups and downs, as states. State 0: there was no step yet. */
export interface OrderAutomaton {
  readonly states: number;
  /** State after a step up (down); −1 where a rule fires. */
  readonly up: Int32Array;
  readonly down: Int32Array;
}

/** Six points in a trend are five steps, fourteen alternating ones thirteen. */
const trendSteps = 5;
const alternatingSteps = 13;

/** All states that are reached, for continuous values, which never tie. */
export function orderAutomaton(plan: RulePlan): OrderAutomaton {
  const trend = isActive(plan, 'trend');
  const alternating = isActive(plan, 'alternating');
  const known = new Map<string, number>([['start', 0]]);
  const memories = [{ direction: 0, trend: 0, alternating: 0 }];
  const steps: { readonly up: number[]; readonly down: number[] } = { up: [], down: [] };
  for (let state = 0; state < memories.length; state++)
    for (const direction of [1, -1]) {
      const before = memories[state]!;
      const same = before.direction === direction;
      const memory = {
        direction,
        trend: trend ? (same ? before.trend + 1 : 1) : 0,
        alternating: alternating ? (same ? 1 : before.alternating + 1) : 0,
      };
      let place = -1;
      if (memory.trend < trendSteps && memory.alternating < alternatingSteps) {
        const key = `${direction} ${memory.trend} ${memory.alternating}`;
        place = known.get(key) ?? memories.length;
        if (place === memories.length) {
          known.set(key, place);
          memories.push(memory);
        }
      }
      (direction > 0 ? steps.up : steps.down).push(place);
    }
  return { states: memories.length, up: Int32Array.from(steps.up), down: Int32Array.from(steps.down) };
}
