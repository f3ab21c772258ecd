import type { Outcome } from '../errors.ts';
import { averagesOfChain } from './average-of-chain.ts';
import { type CusumRunLengthSettings, cusumOf, headStartsTooHigh } from './cusum-run-length.ts';
import { designed, meetRunLength, requireRunLength } from './meet-run-length.ts';
import { oneSum } from './one-sum.ts';

/**
 * Which decision interval of a CUSUM chart gives a wanted average run length in control.
 *
 * @param averageRunLength  samples between false alarms, 1.5 … 10⁸.
 * @param settings          reference value, head start and sides, as in cusumRunLength.
 * @returns                 decision interval h in standard deviations of the plotted value, 0.01 … 50, and the run length
 *                          it gives. Unavailable `not-reachable` where no such interval exists,
 *                          `outside-method` as cusumRunLength.
 * @throws                  StatisticsError `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: Hawkins, Quality Engineering 5(3), 1993; integral equation as cusumRunLength.
 *
 * @example
 * cusumDecisionInterval(370, { referenceValue: 0.5 });
 * // available, decisionInterval 4.773…
 */
export function cusumDecisionInterval(
  averageRunLength: number,
  settings: Omit<CusumRunLengthSettings, 'decisionInterval'> = {},
): Outcome<{ readonly decisionInterval: number; readonly averageRunLength: number }> {
  requireRunLength(averageRunLength, 'averageRunLength');
  const { referenceValue, headStart, sides } = cusumOf(settings, 'settings');
  // Above this the two head starts together exceed h + 2k.
  const most =
    sides === 'both' && headStart > 0.5 ? Math.min(50, (2 * referenceValue) / (2 * headStart - 1)) : 50;
  if (most < 0.01) return headStartsTooHigh;
  const found = meetRunLength(
    averageRunLength,
    (decisionInterval) => {
      const chain = oneSum(referenceValue, decisionInterval, 0, 1);
      const [fresh, first] = averagesOfChain(chain, [
        chain.from(0),
        chain.from(headStart * decisionInterval),
      ]) as [number, number];
      // In control both sides are alike, and renewal at each signal leaves this (Lucas and Crosier, 1982).
      return sides === 'both' ? first - fresh / 2 : first;
    },
    { least: 0.01, guess: Math.min(most, 12, 2.5 / (referenceValue + 0.05)), most },
  );
  if (found === null && most < 50) return headStartsTooHigh;
  return designed(
    'decisionInterval',
    found,
    'No decision interval gives this run length with this reference value and head start. Ask for another run length, or change the reference value.',
  );
}
