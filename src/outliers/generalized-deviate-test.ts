import { requireConfidence, requireWhole } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { deviationsOf } from './deviations.ts';
import { criticalDeviate } from './grubbs-test.ts';
import { outlierAdvice } from './outlier-advice.ts';

export interface GeneralizedDeviateTestOptions {
  /** Most outliers looked for, from 1 to the number of readings less 2, at most 1000. */
  readonly most: number;
  /** Default 0.95. */
  readonly confidence?: number;
}

export interface DeviateStep {
  /** The reading that is farthest from the mean of those that are left. */
  readonly index: number;
  readonly value: number;
  readonly statistic: number;
  readonly criticalValue: number;
}

export interface GeneralizedDeviateTest {
  readonly method: 'generalized extreme studentized deviate';
  readonly count: number;
  readonly confidence: number;
  /** Indices of the outliers, the farthest first. */
  readonly outliers: readonly number[];
  readonly steps: readonly DeviateStep[];
  readonly message: string;
}

/**
 * Which readings, up to a number named beforehand, lie too far out to belong to the same normal population? Outliers
 * that hide each other are found: the farthest reading is taken away again and again, and the last step at which it
 * lay beyond its critical value decides how many there are.
 *
 * @param values  finite readings in one unit; the critical values are accurate from 25, usable from 15.
 * @returns       Unavailable `no-variation` where all readings are equal. The steps end early where the readings that
 *                are left are all equal.
 * @throws        StatisticsError `empty`, `too-few-values`, `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 16269-4, generalized extreme studentized deviate test; B. Rosner, Technometrics 25 (1983) 165-172.
 *
 * @example
 * generalizedDeviateTest([5.1, 4.9, 5, 5.2, 4.8, 5.1, 4.9, 5, 5.1, 5, 4.9, 5.2, 9, 9.3], { most: 3 });
 * // available, outliers [13, 12]
 */
export function generalizedDeviateTest(
  values: readonly number[],
  options: GeneralizedDeviateTestOptions,
): Outcome<GeneralizedDeviateTest> {
  const { most, confidence = 0.95 } = options;
  requireConfidence(confidence, 'options.confidence');
  const first = deviationsOf(values);
  requireWhole(most, 1, Math.min(1000, values.length - 2), 'options.most');
  if (!first.available) return first;
  const steps: DeviateStep[] = [];
  const left = values.map((_, index) => index);
  let found = 0;
  while (steps.length < most) {
    const { available, ...rest } = deviationsOf(left.map((index) => values[index]!));
    if (!available) break;
    const { deviations } = rest as { deviations: readonly number[] };
    let place = 0;
    for (let k = 1; k < left.length; k++)
      if (Math.abs(deviations[k]!) > Math.abs(deviations[place]!)) place = k;
    const index = left[place]!;
    const statistic = Math.abs(deviations[place]!);
    const criticalValue = criticalDeviate((1 - confidence) / (2 * left.length), left.length);
    steps.push({ index, value: values[index]!, statistic, criticalValue });
    if (statistic > criticalValue) found = steps.length;
    left.splice(place, 1);
  }
  return {
    available: true,
    method: 'generalized extreme studentized deviate',
    count: values.length,
    confidence,
    outliers: steps.slice(0, found).map(({ index }) => index),
    steps,
    message: outlierAdvice(found),
  };
}
