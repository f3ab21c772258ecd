/** How the cases of capability-more are worked out. */
import {
  attributeCapability,
  attributeSampleSize,
  fractionOutsideCircle,
  indexSampleSize,
  positionPerformance,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

function found<T extends { readonly available: boolean }>(
  outcome: T,
): Extract<T, { readonly available: true }> {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<T, { readonly available: true }>;
}

/** Keyed by inputs.kind. */
export const capabilityMoreHandlers: CaseHandlers = {
  circle: ({ radius, kind: _, ...distribution }) => found(fractionOutsideCircle(distribution, radius)),
  position: ({ positions, toleranceDiameter }) => {
    const result = found(positionPerformance(positions, { toleranceDiameter, resamples: 100 }));
    return {
      fraction: result.fractionOutside.estimate,
      index: result.index.estimate,
      ellipseIndex: result.ellipseIndex.estimate,
      rayleighFraction: result.rayleigh.fractionOutside,
      rayleighIndex: result.rayleigh.index.estimate,
      rayleighLowerBound: result.rayleigh.index.lowerBound,
      offsetPValue: result.rayleigh.offsetPValue,
      roundnessPValue: result.rayleigh.roundnessPValue,
    };
  },
  attribute: ({ nonconforming, inspected, confidence }) => {
    const of = (equivalent: 'one-limit' | 'two-limits') =>
      found(attributeCapability({ nonconforming, inspected }, { confidence, equivalent }));
    const { lower, upper, upperBound } = of('one-limit').fractionNonconforming;
    return {
      lower,
      upper,
      upperBound,
      indexLowerBound: of('one-limit').equivalentIndex.lowerBound,
      indexLowerBoundTwoLimits: of('two-limits').equivalentIndex.lowerBound,
    };
  },
  attributeSize: ({ largestFraction, kind: _, ...options }) =>
    found(attributeSampleSize(largestFraction, options)),
  indexSize: ({ kind: _, ...options }) => found(indexSampleSize(options)),
};
