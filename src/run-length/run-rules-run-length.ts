import { requireBetween } from '../checks.ts';
import { planRules } from '../run-rules/rule-words.ts';
import type { RunRuleSettings } from '../run-rules/run-rule.ts';
import { orderAutomaton } from './order-automaton.ts';
import { orderedDensities, orderedStates, orderedWalk, roughTerms } from './ordered-walk.ts';
import { comparesNeighbours, ruleAutomaton } from './rule-automaton.ts';
import { ruleZones, zoneProbabilities } from './rule-zones.ts';
import { neverSignals, processOf, type RunLengthOptions, type RunLengthOutcome } from './run-length.ts';
import { hazardsOf, runLengthOf, settle } from './run-length-of-walk.ts';
import { zoneWalk } from './zone-walk.ts';

/** A Shewhart chart with any of the run rules. */
export interface RunRulesRunLengthSettings extends RunRuleSettings {
  /** Standard deviations between center line and control limit, 0.1 … 10; the zones of the other rules stay. Default 3. */
  readonly multiple?: number;
}

/**
 * Run length of a chart with any combination of the run rules of findSignals, for independent normal values.
 *
 * Exact: an absorbing Markov chain over the histories of zones that the rules tell apart. The rules of trend and
 * alternation compare neighbouring values, which zones do not tell; with them each state carries the density of the
 * last value inside its zone.
 *
 * @param settings  rules with their options, multiple of the limits.
 * @param options   shift, ratio of standard deviations, start, probabilities.
 * @returns         samples, dimensionless; relative error below 1e-10, with trend or alternation below 1e-7.
 *                  Unavailable `not-reachable` without a rule or where the chart practically never signals.
 * @throws          StatisticsError `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: Champ and Woodall, Technometrics 29(4), 1987; Brook and Evans, Biometrika 59(3), 1972. Rules: as findSignals.
 *
 * @example
 * runRulesRunLength({ rules: ['one-beyond-three-sigma', 'two-of-three-beyond-two-sigma'] }, { shift: 0 });
 * // available, averageRunLength 225.43…, standardDeviation 224.37…, method "Markov chain"
 */
export function runRulesRunLength(
  settings: RunRulesRunLengthSettings,
  options: RunLengthOptions = {},
): RunLengthOutcome {
  return chainOfRules(settings, options, false);
}

/** The same, or roughly, to three or four digits, where that is quicker: for a search. */
export function chainOfRules(
  settings: RunRulesRunLengthSettings,
  options: RunLengthOptions,
  rough: boolean,
): RunLengthOutcome {
  const { multiple = 3 } = settings;
  const plan = planRules(settings, 'settings');
  requireBetween(multiple, 0.1, 10, 'settings.multiple');
  const { shift, standardDeviationRatio, start, probabilities } = processOf(options, 'options');
  if (plan.active === 0) return neverSignals;

  const zones = ruleZones(plan, multiple);
  const changed = zoneProbabilities(zones, shift, standardDeviationRatio);
  const calm = zoneProbabilities(zones, 0, 1);
  if (comparesNeighbours(plan)) {
    const automaton = ruleAutomaton(plan, zones, true);
    const states = orderedStates(automaton, orderAutomaton(plan), zones.length, shift === 0);
    const change = rough ? 1e-5 : 1e-8;
    const densities = rough ? orderedDensities(states, roughTerms) : orderedDensities(states);
    if (start === 'steady-state') settle(orderedWalk(states, calm, densities), plan.lookBack, change);
    const walk = orderedWalk(states, changed, densities);
    return runLengthOf(hazardsOf(walk, plan.lookBack, change), probabilities, 'integral equation');
  }
  const automaton = ruleAutomaton(plan, zones, false);
  const masses = new Float64Array(automaton.states);
  masses[0] = 1;
  if (start === 'steady-state') settle(zoneWalk(automaton, calm, masses), plan.lookBack);
  const walk = zoneWalk(automaton, changed, masses);
  return runLengthOf(hazardsOf(walk, plan.lookBack), probabilities, 'Markov chain');
}
