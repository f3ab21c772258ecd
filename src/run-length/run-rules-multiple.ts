import type { Outcome } from '../errors.ts';
import type { RunRuleSettings } from '../run-rules/run-rule.ts';
import { averageOf, designed, meetRunLengthBothWays, requireRunLength } from './meet-run-length.ts';
import { chainOfRules } from './run-rules-run-length.ts';

/**
 * How wide the control limits of a chart with run rules have to be for a wanted average run length in control.
 *
 * @param averageRunLength  samples between false alarms, 1.5 … 10⁸.
 * @param settings          run rules with their options, 'one-beyond-three-sigma' among them: its limits are what is
 *                          sought. Default: that rule alone.
 * @returns                 multiple of the standard deviation, 0.1 … 10, and the run length it gives. Unavailable
 *                          `not-reachable` where the other rules alone signal more often, or no limits are among them.
 * @throws                  StatisticsError `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: as runRulesRunLength.
 *
 * @example
 * runRulesMultiple(500);
 * // available, multiple 3.090…
 */
export function runRulesMultiple(
  averageRunLength: number,
  settings: RunRuleSettings = { rules: ['one-beyond-three-sigma'] },
): Outcome<{ readonly multiple: number; readonly averageRunLength: number }> {
  requireRunLength(averageRunLength, 'averageRunLength');
  const averageAt = (rough: boolean) => (multiple: number) =>
    averageOf(chainOfRules({ ...settings, multiple }, { probabilities: [] }, rough));
  const range = { least: 0.1, guess: 3.05, most: 10 };
  const found = meetRunLengthBothWays(averageRunLength, averageAt(true), averageAt(false), range);
  return designed(
    'multiple',
    found,
    'No control limits give this run length: the other rules alone signal more often, or there are no limits among the rules. Leave a rule out, or ask for a shorter run length.',
  );
}
