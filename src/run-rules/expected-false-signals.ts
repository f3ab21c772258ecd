import { StatisticsError } from '../errors.ts';
import { normalUpperTail } from '../numerics/normal.ts';

/**
 * How many points chance alone puts outside control limits at three standard deviations: 0.27 % of them. A long
 * period of a steady process has some, and is not unsteady for it.
 *
 * For independent, normal values and known limits on both sides. Limits from few samples, spreads of small
 * samples and skewed values give more; further run rules add their own.
 *
 * @param points  points judged, whole, ≥ 0.
 * @returns       expected number, dimensionless.
 * @throws        StatisticsError `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 7870-1, chance of a point outside the limits; two tails of the normal distribution beyond 3.
 *
 * @example
 * expectedFalseSignals(1000);
 * // 2.6997…
 */
export function expectedFalseSignals(points: number): number {
  if (!Number.isInteger(points)) throw new StatisticsError('not-an-integer', 'points', points);
  if (points < 0) throw new StatisticsError('out-of-range', 'points', points, 'must not be negative');
  return 2 * points * normalUpperTail(3);
}
