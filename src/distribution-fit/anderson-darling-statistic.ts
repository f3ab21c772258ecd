import type { DistributionFunctions } from './distribution-family.ts';

/** Stands for a value right at the end of a distribution, where A² has no finite value: a 0 among deviations. */
const smallestLog = Math.log(Number.MIN_VALUE);

/**
 * A² = −n − (1/n) Σ (2i − 1) [ln F(x_i) + ln(1 − F(x_(n+1−i)))] of values in ascending order: how far they lie from a
 * distribution, with weight on the tails. For each value the smaller tail is computed, and the other from it.
 *
 * Source: D'Agostino and Stephens (eds.), Goodness-of-Fit Techniques, 1986, chapter 4.
 */
export function andersonDarlingStatistic(
  sorted: ArrayLike<number>,
  functions: DistributionFunctions,
): number {
  const n = sorted.length;
  const median = functions.quantile(0.5);
  let sum = 0;
  for (let index = 0; index < n; index++) {
    const x = sorted[index]!;
    const below = 2 * index + 1;
    const above = 2 * (n - index) - 1;
    if (x <= median) {
      const tail = functions.lowerTail(x);
      const log = tail > 0 ? Math.log(tail) : functions.logLowerTail(x);
      sum += below * (log === -Infinity ? smallestLog : log) + above * Math.log1p(-tail);
    } else {
      const tail = functions.upperTail(x);
      const log = tail > 0 ? Math.log(tail) : functions.logUpperTail(x);
      sum += above * (log === -Infinity ? smallestLog : log) + below * Math.log1p(-tail);
    }
  }
  return -n - sum / n;
}
