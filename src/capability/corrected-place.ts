import { normalLowerTail, normalQuantile } from '../numerics/normal.ts';

/**
 * Where in the sorted draws of a bootstrap the quantile lies, corrected for bias (draws below the estimate are no half)
 * and for a spread that changes with the index (acceleration).
 *
 * Source: Efron, Journal of the American Statistical Association 82 (1987) 171-185.
 */
export function correctedPlace(
  sorted: Float64Array,
  estimate: number,
  acceleration: number,
): (probability: number) => number {
  let below = 0;
  for (const draw of sorted) below += draw < estimate ? 1 : draw === estimate ? 0.5 : 0;
  const most = sorted.length - 0.5;
  const bias = normalQuantile(Math.min(most, Math.max(0.5, below)) / sorted.length);
  return (probability) => {
    const z = bias + normalQuantile(probability);
    // An acceleration this large would turn the order of the quantiles round.
    return normalLowerTail(bias + z / Math.max(0.1, 1 - acceleration * z));
  };
}
