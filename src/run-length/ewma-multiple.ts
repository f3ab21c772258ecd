import type { Outcome } from '../errors.ts';
import { type EwmaRunLengthSettings, ewmaRunLength } from './ewma-run-length.ts';
import { averageOf, designed, meetRunLength, requireRunLength } from './meet-run-length.ts';

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
  const found = meetRunLength(
    averageRunLength,
    (multiple) => averageOf(ewmaRunLength({ ...settings, multiple }, { probabilities: [] })),
    { least: 0.1, guess: 2.9, most: 10 },
  );
  return designed(
    'multiple',
    found,
    'No limits give this run length with this smoothing. Ask for another run length.',
  );
}
