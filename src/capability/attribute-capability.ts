import { requireName, requireWhole } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { betaQuantile } from '../numerics/beta.ts';
import { normalQuantile } from '../numerics/normal.ts';
import { requireIndexConfidence } from './index-interval.ts';
import {
  checkedVerdict,
  type IndexVerdict,
  indexVerdict,
  type VerdictOptions,
  type VerdictWords,
} from './index-verdict.ts';

/** Parts looked at and found wrong. */
export interface AttributeCount {
  /** Whole, 0 … inspected. */
  readonly nonconforming: number;
  /** Whole, 1 … 1e9. */
  readonly inspected: number;
}

export interface AttributeCapabilityOptions extends VerdictOptions {
  /** Of every interval and bound, 0.5 … 0.9999. Default 0.95. */
  readonly confidence?: number;
  /**
   * Which normal process has the same fraction: with one limit (index −Φ⁻¹(p)/3) or centred between two
   * (−Φ⁻¹(p/2)/3). Default 'one-limit', the smaller index of the two.
   */
  readonly equivalent?: 'one-limit' | 'two-limits';
}

/** A fraction or an index with its exact bounds; null where there is none. */
export interface AttributeEstimate {
  readonly estimate: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly lowerBound: number | null;
  readonly upperBound: number | null;
}

export interface AttributeCapability {
  readonly sampleSize: number;
  readonly nonconforming: number;
  readonly confidence: number;
  readonly method: 'Clopper-Pearson';
  /** The true fraction is bounded with at least the confidence, whatever it is. */
  readonly fractionNonconforming: { readonly [Name in keyof AttributeEstimate]: number };
  /** null: without a nonconforming part the index has no estimate and no upper end, only a lower bound. */
  readonly equivalentIndex: AttributeEstimate;
  readonly equivalent: 'one-limit' | 'two-limits';
  readonly verdict: IndexVerdict;
}

/**
 * Is a process good enough that is only counted, good or bad? The fraction nonconforming with its exact bound, and the
 * index of a normal process with the same fraction. A count says far less than a measurement: an index of 1.33 is
 * proved by 100 measured parts or so, but by tens of thousands of counted ones (see attributeSampleSize).
 *
 * @returns Unavailable `outside-method` where every part is nonconforming: there is no index.
 * @throws  StatisticsError `not-finite`, `not-an-integer`, `out-of-range`, `unknown-name`, naming the field.
 *
 * Source: ISO 22514-5; Clopper and Pearson, Biometrika 26 (1934) 404-413. The equivalent index: common practice, no
 * source.
 *
 * @example
 * attributeCapability({ nonconforming: 2, inspected: 5000 });
 * // available, fractionNonconforming.upperBound 0.0012…, equivalentIndex.lowerBound 1.0070…
 */
export function attributeCapability(
  count: AttributeCount,
  options: AttributeCapabilityOptions = {},
): Outcome<AttributeCapability> {
  const { nonconforming, inspected } = count;
  const { confidence = 0.95, equivalent = 'one-limit' } = options;
  requireWhole(inspected, 1, 1e9, 'count.inspected');
  requireWhole(nonconforming, 0, inspected, 'count.nonconforming');
  requireIndexConfidence(confidence, 'options.confidence');
  requireName(equivalent, ['one-limit', 'two-limits'], 'options.equivalent');
  const { requiredIndex, doubts } = checkedVerdict(options);
  if (nonconforming === inspected)
    return {
      available: false,
      reason: 'outside-method',
      message: `All ${inspected} parts are nonconforming: there is no index. Stop and find out why.`,
    };
  const above = (risk: number) => upperFraction(nonconforming, inspected, risk);
  const below = (risk: number) => lowerFraction(nonconforming, inspected, risk);
  const half = (1 - confidence) / 2;
  const fractionNonconforming = {
    estimate: nonconforming / inspected,
    lower: below(half),
    upper: above(half),
    lowerBound: below(1 - confidence),
    upperBound: above(1 - confidence),
  };
  const index = (fraction: number) =>
    fraction === 0 ? null : -normalQuantile(equivalent === 'one-limit' ? fraction : fraction / 2) / 3;
  const equivalentIndex = {
    estimate: index(fractionNonconforming.estimate),
    lower: index(fractionNonconforming.upper),
    upper: index(fractionNonconforming.lower),
    lowerBound: index(fractionNonconforming.upperBound),
    upperBound: index(fractionNonconforming.lowerBound),
  };
  const method = 'Clopper-Pearson';
  const judged = {
    ...equivalentIndex,
    lowerBound: equivalentIndex.lowerBound!,
    sampleSize: inspected,
    method,
    confidence,
  };
  return {
    available: true,
    sampleSize: inspected,
    nonconforming,
    confidence,
    method,
    fractionNonconforming,
    equivalentIndex,
    equivalent,
    verdict: indexVerdict('the equivalent index', judged, requiredIndex, doubts, ofParts),
  };
}

const ofParts: VerdictWords = {
  counted: 'parts',
  improve: 'find out what makes parts nonconforming and remove it',
};

/** Fraction at which so few nonconforming parts are as rare as `risk`. */
function upperFraction(count: number, inspected: number, risk: number): number {
  return count === 0
    ? -Math.expm1(Math.log(risk) / inspected)
    : betaQuantile(1 - risk, count + 1, inspected - count);
}

/** Fraction at which so many nonconforming parts are as rare as `risk`. */
function lowerFraction(count: number, inspected: number, risk: number): number {
  return count === 0 ? 0 : betaQuantile(risk, count, inspected - count + 1);
}
