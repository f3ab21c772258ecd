/** How the cases of variance-components, tool-wear, group-charts and acceptance-charts are worked out. */
import type { Outcome } from '../../src/errors.ts';
import {
  acceptancePlan,
  acceptanceProbability,
  groupLimits,
  laneRunLength,
  nestedAnalysisOfVariance,
  nestedLikelihoodComponents,
  type ProcessLevels,
  toolWearChart,
  wearCrossing,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

function available<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(outcome.message);
  return outcome;
}

/** Keyed by inputs.kind. */
export const varianceComponentsHandlers: CaseHandlers = {
  anova: ({ data }) => {
    const { degreesOfFreedom, fRatio, ...table } = available(nestedAnalysisOfVariance(data));
    return { ...table, df: degreesOfFreedom, F: fRatio };
  },
  reml: ({ data }) => available(nestedLikelihoodComponents(data)),
};

/** Keyed by 'trend'. */
export const toolWearHandlers: CaseHandlers = {
  trend: ({ hits, values, tool, kSigma, limit, confidence }) => {
    const samples = hits.map((hit: number, index: number) => ({
      hits: hit,
      value: values[index],
      tool: tool[index],
    }));
    const { points, signals, basis } = available(toolWearChart(samples, { multiple: kSigma }));
    const { line } = basis;
    const { meanCrossing, individualCrossing, ...crossing } = wearCrossing(line, { limit, confidence });
    const pair = (set: typeof meanCrossing) => (set === null ? null : [set.lower, set.upper]);
    return {
      slope: line.slope,
      intercepts: line.cycles.map(({ intercept }) => intercept),
      residualStandardDeviation: line.residualStandardDeviation,
      df: line.degreesOfFreedom,
      withinSxx: line.withinSumOfSquares,
      slopeStandardError: line.slopeStandardError,
      slopeT: line.slopeT,
      slopeP: line.slopePValue,
      fitted: points.map(({ limits }) => limits!.centerLine),
      residuals: points.map(({ value, limits }) => value! - limits!.centerLine),
      lower: points.map(({ limits }) => limits!.lowerControlLimit),
      upper: points.map(({ limits }) => limits!.upperControlLimit),
      outOfLimits: signals,
      slopeHomogeneity:
        line.slopeHomogeneity === null
          ? undefined
          : {
              F: line.slopeHomogeneity.fRatio,
              df: line.slopeHomogeneity.degreesOfFreedom,
              pValue: line.slopeHomogeneity.pValue,
            },
      crossing: crossing.crossing,
      hitsRemaining: crossing.hitsRemaining,
      fiellerMean: pair(meanCrossing),
      inversePrediction: pair(individualCrossing),
      g: crossing.g,
    };
  },
};

/** Keyed by inputs.kind. */
export const groupChartsHandlers: CaseHandlers = {
  limits: ({ lanes, size, mean, standardDeviation, ...convention }) => {
    const standard = { mean, withinSubgroupStandardDeviation: standardDeviation };
    const { mean: ofMeans, range, ...probabilities } = groupLimits({ standard, lanes, size, ...convention });
    return {
      ...ofMeans,
      ...probabilities,
      rangeCenterLine: range?.centerLine,
      upperRangeLimit: range?.upperControlLimit,
    };
  },
  runs: ({ lanes, runLength }) => laneRunLength(lanes, { runLength }),
};

function planned(
  inputs: {
    lowerSpec: number | null;
    upperSpec: number | null;
    standardDeviation: number;
    alpha: number;
    beta: number;
    limitsFrom: 'acceptable-level' | 'rejectable-level';
    sampleSize?: number;
  },
  acceptable: ProcessLevels,
  rejectable: ProcessLevels,
  expected: { operatingCharacteristic: readonly (readonly [number, number])[] },
) {
  const { alpha, beta, limitsFrom, sampleSize } = inputs;
  const plan = available(
    acceptancePlan(
      { lowerSpecificationLimit: inputs.lowerSpec, upperSpecificationLimit: inputs.upperSpec },
      {
        withinSubgroupStandardDeviation: inputs.standardDeviation,
        acceptable,
        rejectable,
        alpha,
        beta,
        limitsFrom,
        ...(sampleSize === undefined ? {} : { sampleSize }),
      },
    ),
  );
  return {
    sampleSize: plan.sampleSize,
    lower: plan.lowerAcceptanceControlLimit,
    upper: plan.upperAcceptanceControlLimit,
    achievedAlpha: plan.achievedAlpha,
    achievedBeta: plan.achievedBeta,
    operatingCharacteristic: expected.operatingCharacteristic.map(([level]) => [
      level,
      acceptanceProbability(level, plan),
    ]),
  };
}

/** Keyed by inputs.kind. */
export const acceptanceChartsHandlers: CaseHandlers = {
  fractions: (inputs, expected) =>
    planned(
      inputs,
      { fractionNonconforming: inputs.acceptable },
      { fractionNonconforming: inputs.rejectable },
      expected,
    ),
  levels: (inputs, expected) =>
    planned(
      inputs,
      { lower: inputs.lower[0], upper: inputs.upper[0] },
      { lower: inputs.lower[1], upper: inputs.upper[1] },
      expected,
    ),
};
