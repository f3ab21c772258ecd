import type { RuleAutomaton } from './rule-automaton.ts';
import type { Walk } from './run-length-of-walk.ts';

/**
 * Walks a chart with run rules that ask for zones only: an exact Markov chain.
 *
 * @param masses  of the states, scaled to 1; holds the present ones.
 */
export function zoneWalk(automaton: RuleAutomaton, probabilities: Float64Array, masses: Float64Array): Walk {
  const { states, next } = automaton;
  const zones = probabilities.length;
  const following = new Float64Array(states);
  return () => {
    following.fill(0);
    let hazard = 0;
    let total = 0;
    for (let state = 0; state < states; state++) {
      const mass = masses[state]!;
      if (mass === 0) continue;
      const row = state * zones;
      for (let zone = 0; zone < zones; zone++) {
        const to = next[row + zone]!;
        const moved = mass * probabilities[zone]!;
        if (to < 0) hazard += moved;
        else {
          following[to] = following[to]! + moved;
          total += moved;
        }
      }
    }
    if (total === 0) return 1;
    for (let state = 0; state < states; state++) masses[state] = following[state]! / total;
    return hazard;
  };
}
