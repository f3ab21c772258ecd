import type { ChartPoint, LimitLines } from './control-chart.ts';

/** A plotted point, judged strictly: a value exactly on a limit is inside. */
export function chartPoint<Limits extends LimitLines>(
  index: number,
  value: number | null,
  size: number,
  limits: Limits | null,
): ChartPoint<Limits> {
  const beyondLimits =
    value !== null &&
    limits !== null &&
    ((limits.upperControlLimit !== null && value > limits.upperControlLimit) ||
      (limits.lowerControlLimit !== null && value < limits.lowerControlLimit));
  return { index, value, size, limits, beyondLimits };
}

/** Places of the points outside their limits. */
export function signalsOf(points: readonly ChartPoint[]): number[] {
  return points.filter(({ beyondLimits }) => beyondLimits).map(({ index }) => index);
}
