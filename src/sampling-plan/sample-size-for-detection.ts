import { requireBetween, requireFraction } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { detection } from './time-to-signal.ts';

const largest = 10_000;

/**
 * Fewest parts in a sample with which one sample sees a shift with a wanted probability, on a chart of means.
 *
 * @param shift    of the process mean in standard deviations of single parts, −20 … 20, not 0.
 * @param options  probability wanted, between 0 and 1; multiple, 0.1 … 10, default 3.
 * @returns        sample size 1 … 10 000 and the probability it gives. Unavailable `not-reachable` where more are needed.
 * @throws         StatisticsError `not-finite`, `out-of-range`.
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, section 6.2 (operating characteristic).
 *
 * @example
 * sampleSizeForDetection(1, { probability: 0.9 });
 * // available, sampleSize 19, detectionProbability 0.912…
 */
export function sampleSizeForDetection(
  shift: number,
  options: { readonly probability: number; readonly multiple?: number },
): Outcome<{ readonly sampleSize: number; readonly detectionProbability: number }> {
  const { probability, multiple = 3 } = options;
  requireBetween(shift, -20, 20, 'shift');
  if (shift === 0)
    throw new StatisticsError(
      'out-of-range',
      'shift',
      shift,
      'Name the shift that must be seen; it is not 0.',
    );
  requireFraction(probability, 'options.probability');
  requireBetween(multiple, 0.1, 10, 'options.multiple');
  if (detection(shift, largest, multiple) < probability)
    return {
      available: false,
      reason: 'not-reachable',
      message: `Even samples of ${largest} parts do not see so small a shift this surely. Ask for a larger shift, a smaller probability, or use an EWMA or CUSUM chart.`,
    };
  // The probability grows with the size.
  let low = 0;
  let high = largest;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (detection(shift, middle, multiple) >= probability) high = middle;
    else low = middle;
  }
  return { available: true, sampleSize: high, detectionProbability: detection(shift, high, multiple) };
}
