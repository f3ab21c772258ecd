import { requireFraction, requireWhole } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { binomialLowerTail } from '../numerics/binomial.ts';
import { requireIndexConfidence } from './index-interval.ts';

export interface AttributeSampleSizeOptions {
  /** Of the proof, 0.5 … 0.9999. Default 0.95. */
  readonly confidence?: number;
  /** Nonconforming parts that the sample may hold, whole, 0 … 1000. Default 0: proof without a defect. */
  readonly allowedNonconforming?: number;
}

export interface AttributeSampleSize {
  readonly sampleSize: number;
  readonly allowedNonconforming: number;
  readonly message: string;
}

/**
 * How many parts prove that at most a given fraction is nonconforming? The smallest n with P(X ≤ allowed) ≤
 * 1 − confidence at that fraction; without a defect allowed, ln(1 − confidence)/ln(1 − fraction).
 *
 * @param largestFraction  in (0, 1); the fraction that an index C with one limit stands for is Φ(−3C).
 * @returns                Unavailable `not-reachable` where it takes more than 1e9 parts.
 * @throws                 StatisticsError `not-finite`, `not-an-integer`, `out-of-range`, naming the field.
 *
 * Source: ISO 22514-5; the binomial distribution.
 *
 * @example
 * attributeSampleSize(0.001);
 * // available, sampleSize 2995
 */
export function attributeSampleSize(
  largestFraction: number,
  options: AttributeSampleSizeOptions = {},
): Outcome<AttributeSampleSize> {
  const { confidence = 0.95, allowedNonconforming: allowed = 0 } = options;
  requireFraction(largestFraction, 'largestFraction');
  requireIndexConfidence(confidence, 'options.confidence');
  requireWhole(allowed, 0, 1000, 'options.allowedNonconforming');
  const most = 1e9;
  const proves = (n: number) => binomialLowerTail(allowed, n, largestFraction) <= 1 - confidence;
  if (!proves(most))
    return {
      available: false,
      reason: 'not-reachable',
      message: `It would take more than ${most} parts. Measure the characteristic instead of counting.`,
    };
  let tooFew = allowed;
  let enough = most;
  while (enough - tooFew > 1) {
    const middle = Math.floor((tooFew + enough) / 2);
    if (proves(middle)) enough = middle;
    else tooFew = middle;
  }
  const found = allowed === 0 ? 'without a nonconforming one' : `with at most ${allowed} nonconforming`;
  return {
    available: true,
    sampleSize: enough,
    allowedNonconforming: allowed,
    message: `Look at ${enough} parts in a row: ${found} they prove a fraction of at most ${largestFraction} with ${Number((100 * confidence).toFixed(2))} % confidence.`,
  };
}
