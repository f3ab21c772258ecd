import type { ControlLimits } from '../charts/control-chart.ts';
import { StatisticsError } from '../errors.ts';
import { findSignalsAtLimits } from './find-signals-at-limits.ts';
import { planRules } from './rule-words.ts';
import type { RunRuleSettings, RunRuleSignal } from './run-rule.ts';

const standardLimits: ControlLimits = {
  centerLine: 0,
  lowerControlLimit: -3,
  upperControlLimit: 3,
  standardDeviation: 1,
};

/**
 * Every signal of the chosen run rules on standardised values (distance from the center line in standard deviations
 * of the plotted statistic).
 *
 * The rules, all with strict comparison, at every point that completes the pattern, without restart after a signal:
 * - 'one-beyond-three-sigma': |z| > 3.
 * - 'two-of-three-beyond-two-sigma', 'four-of-five-beyond-one-sigma': the latest point is beyond, and enough of the
 *   last 3 (5) are beyond on the same side. At the start the first 2 (4) points may do.
 * - 'run-on-one-side': the last 9 (or 7, 8) all above or all below the center line; a point on it breaks the run.
 * - 'six-in-a-trend': six points, each higher (each lower) than the one before; equal neighbours break it.
 * - 'fourteen-alternating': fourteen points that go up and down in turn; equal neighbours break it.
 * - 'fifteen-within-one-sigma': fifteen with |z| < 1, on either side.
 * - 'eight-outside-one-sigma': eight with |z| > 1, on either side; on both sides if the setting asks for it.
 *
 * A missing point (null) breaks a run, a trend and an alternation, and takes a place in the rules of two of three
 * and four of five without counting. Nobody knows what the process did there, so no pattern is claimed across it;
 * and so no rule ever looks back further than 15 points.
 *
 * @param standardisedValues  in time order, dimensionless, finite or null; may be empty.
 * @param settings            the rules to apply, with their options.
 * @returns                   signals by index, then in the order of runRuleNames. `side` of a trend is the way it
 *                            goes (rising: above); of points on both sides 'both'.
 * @throws                    StatisticsError `not-finite` (names the value), `unknown-name`, `out-of-range`.
 *
 * Source: Western Electric, Statistical Quality Control Handbook, 1956; Nelson, Journal of Quality Technology 16(4),
 * 1984; ISO 7870-2, annex.
 *
 * @example
 * findSignals([0.2, 2.4, -0.1, 2.1], { rules: ['two-of-three-beyond-two-sigma'] });
 * // [{ rule: 'two-of-three-beyond-two-sigma', index: 3, points: [1, 3], side: 'above' }]
 */
export function findSignals(
  standardisedValues: readonly (number | null)[],
  settings: RunRuleSettings,
): RunRuleSignal[] {
  const plan = planRules(settings, 'settings');
  for (let index = 0; index < standardisedValues.length; index++) {
    const value = standardisedValues[index];
    if (value !== null && !Number.isFinite(value))
      throw new StatisticsError('not-finite', `standardisedValues.${index}`, value);
  }
  const limits = standardisedValues.map(() => standardLimits);
  return findSignalsAtLimits(standardisedValues, limits, plan, 0);
}
