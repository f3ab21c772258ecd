/** How the cases of capability-studies are worked out. */
import {
  attributeCapability,
  fitDistribution,
  indexSampleSize,
  machinePerformance,
  patternPerformance,
  performanceOfParts,
  positionPerformance,
  streamPerformance,
  timeDependentModel,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

function found<T extends { readonly available: boolean }>(
  outcome: T,
): Extract<T, { readonly available: true }> {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<T, { readonly available: true }>;
}

interface WithEstimate {
  readonly estimate: number;
}
const estimateOf = (index: WithEstimate | null): number | null => index?.estimate ?? null;

/** Keyed by inputs.kind. */
export const capabilityStudiesHandlers: CaseHandlers = {
  machine: ({ values, specification, confidence }) =>
    found(machinePerformance(values, specification, { confidence })),

  attributes: ({ nonconforming, inspected, confidence }) => {
    const of = (equivalent: 'one-limit' | 'two-limits') =>
      found(attributeCapability({ nonconforming, inspected }, { confidence, equivalent }));
    return {
      fractionNonconforming: of('one-limit').fractionNonconforming,
      oneLimit: of('one-limit').equivalentIndex,
      twoLimits: of('two-limits').equivalentIndex,
    };
  },

  positions: ({ positions, toleranceDiameter }) => {
    const result = found(positionPerformance(positions, { toleranceDiameter, resamples: 100 }));
    const { rayleigh } = result;
    return {
      ...result,
      fraction: result.fractionOutside.estimate,
      index: result.index.estimate,
      ellipseIndex: result.ellipseIndex.estimate,
      rayleighFraction: rayleigh.fractionOutside,
      rayleighIndex: rayleigh.index.estimate,
      rayleighLowerBound: rayleigh.index.lowerBound,
      offsetPValue: rayleigh.offsetPValue,
      roundnessPValue: rayleigh.roundnessPValue,
      outside: result.observedOutside,
    };
  },

  pattern: ({ holes, toleranceDiameter }) => {
    const result = found(patternPerformance(holes, { toleranceDiameter, resamples: 100 }));
    return {
      ...result,
      fractions: result.holes.map(({ performance }) => performance.fractionOutside.estimate),
    };
  },

  streams: ({ streams, specification, shares }) => {
    const result = found(
      streamPerformance(streams, specification, { ...(shares && { shares }), resamples: 100 }),
    );
    const { pp, ppl, ppu, ppk, expectedNonconforming } = result.mixture;
    return {
      ...result,
      mixture: {
        pp: estimateOf(pp),
        ppl: estimateOf(ppl),
        ppu: estimateOf(ppu),
        ppk: estimateOf(ppk),
        nonconforming: expectedNonconforming,
      },
    };
  },

  model: ({ subgroups, specification }) => {
    const result = found(timeDependentModel(subgroups, specification, { resamples: 100 }));
    const { expectedNonconforming, ...performance } = found(result.performance!);
    const pValueOf = (question: string) => result.tests.find((test) => test.question === question)?.pValue;
    return {
      ...result,
      analysisOfVariance: pValueOf('location constant'),
      systematic: pValueOf('location systematic'),
      leftOver: pValueOf('location random'),
      performance: { ...performance, nonconforming: expectedNonconforming },
    };
  },

  parts: ({ values, specification, kind: _, ...options }) => {
    const result = found(performanceOfParts(values, specification, { ...options, resamples: 20_000 }));
    const { pp, ppl, ppu, ppk, gaugeShare, partsStandardDeviation } = result;
    return {
      estimates: {
        pp: estimateOf(pp),
        ppl: estimateOf(ppl),
        ppu: estimateOf(ppu),
        ppk: estimateOf(ppk),
        gaugeShare,
        partsStandardDeviation,
      },
      bounds: { pp, ppk, spread: result.partsStandardDeviationUpperBound },
    };
  },

  sizes: ({ kind: _, ...options }) => found(indexSampleSize(options)),

  johnson: ({ distribution, values, spread }) => {
    const result = fitDistribution(values as readonly number[], { distribution });
    if (!result.available) return result;
    const { lowerPercentile, median, upperPercentile } = result.quantiles;
    const standardised = (quantile: number) => (quantile - values[0]) / spread;
    return {
      ...result,
      quantiles: {
        lowerPercentile: standardised(lowerPercentile),
        median: standardised(median),
        upperPercentile: standardised(upperPercentile),
      },
    };
  },
};
