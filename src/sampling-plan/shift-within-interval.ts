import { requireBetween, requirePositive } from '../checks.ts';

/**
 * Mean time from the last sample to a shift that comes between two samples, when shifts come at random with a constant
 * rate: τ = (1 − (1 + θh)e^(−θh)) / (θ(1 − e^(−θh))), a little less than half the interval.
 *
 * @param intervalHours   hours between samples h, above 0, at most 10⁶.
 * @param options         shiftsPerHour: rate θ, above 0, at most 10⁶.
 * @returns               hours, between 0 and half the interval; relative error below 1e-14.
 * @throws                StatisticsError `not-finite`, `out-of-range`.
 *
 * Source: Duncan, Journal of the American Statistical Association 51, 1956.
 *
 * @example
 * shiftWithinInterval(4, { shiftsPerHour: 0.05 });
 * // 1.93337…
 */
export function shiftWithinInterval(
  intervalHours: number,
  options: { readonly shiftsPerHour: number },
): number {
  const { shiftsPerHour } = options;
  requirePositive(intervalHours, 'intervalHours');
  requireBetween(intervalHours, 0, 1e6, 'intervalHours');
  requirePositive(shiftsPerHour, 'options.shiftsPerHour');
  requireBetween(shiftsPerHour, 0, 1e6, 'options.shiftsPerHour');
  const x = shiftsPerHour * intervalHours;
  // h(1/x − 1/(eˣ − 1)), whose two terms cancel for small x; there the series in Bernoulli numbers.
  if (x < 0.1)
    return intervalHours * (0.5 - (x / 12) * (1 - (x * x * (1 - ((x * x) / 42) * (1 - (x * x) / 40))) / 60));
  return intervalHours * (1 / x - 1 / Math.expm1(x));
}
