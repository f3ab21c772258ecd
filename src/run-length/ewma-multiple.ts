import type { Outcome } from '../errors.ts';
import { type EwmaRunLengthSettings, integralOfEwma } from './ewma-run-length.ts';
import { averageOf, designed, meetRunLengthBothWays, requireRunLength } from './meet-run-length.ts';

/**
 * How wide the limits of an EWMA chart have to be for a wanted average run length in control.
 *
 * @param averageRunLength  samples between false alarms, 1.5 … 10⁸.
 * @param settings          smoothing and kind of limits, as in ewmaRunLength.
 * @returns                 multiple of the standard deviation of the average, 0.1 … 10, and the run length it gives.
 *                          Unavailable `not-reachable` where no such multiple exists.
 * @throws                  StatisticsError `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: Lucas and Saccucci, Technometrics 32(1), 1990; integral equation as ewmaRunLength.
 *
 * @example
 * ewmaMultiple(500, { smoothing: 0.1, limits: 'asymptotic' });
 * // available, multiple 2.814…
 */
export function ewmaMultiple(
  averageRunLength: number,
  settings: Omit<EwmaRunLengthSettings, 'multiple'> = {},
): Outcome<{ readonly multiple: number; readonly averageRunLength: number }> {
  requireRunLength(averageRunLength, 'averageRunLength');
  const averageAt = (rough: boolean) => (multiple: number) =>
    averageOf(integralOfEwma({ ...settings, multiple }, { probabilities: [] }, rough));
  const range = { least: 0.1, guess: 2.9, most: 10 };
  const found = meetRunLengthBothWays(averageRunLength, averageAt(true), averageAt(false), range);
  return designed(
    'multiple',
    found,
    'No limits give this run length with this smoothing. Ask for another run length.',
  );
}
