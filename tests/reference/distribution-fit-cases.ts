/** How the cases of non-normal, normality and distribution-fit-checks are worked out. */
import { normalIndices } from '../../src/capability/normal-indices.ts';
import {
  andersonDarling,
  type Distribution,
  type DistributionName,
  distributionLowerTail,
  distributionQuantile,
  distributionUpperTail,
  fitDistribution,
  fitPowerTransformation,
  type PlottingPosition,
  type PowerTransformation,
  percentileIndices,
  powerTransform,
  probabilityPlot,
  shapiroWilk,
  skewnessAndKurtosis,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

const distributions: Readonly<Record<string, DistributionName>> = {
  foldedNormal: 'folded-normal',
  johnsonSU: 'johnson-su',
  johnsonSB: 'johnson-sb',
  boxCox: 'box-cox',
  yeoJohnson: 'yeo-johnson',
};
const nameOf = (name: string) => distributions[name] ?? (name as DistributionName);

function answerOf<T extends { readonly available: boolean }>(outcome: T): T & { readonly available: true } {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as T & { readonly available: true };
}

interface Limits {
  readonly lowerSpec: number | null;
  readonly upperSpec: number | null;
}

const underTheNames = (indices: {
  tolerance: number | null;
  lower: number | null;
  upper: number | null;
  smallest: number;
}) => ({ Pp: indices.tolerance, PpkL: indices.lower, PpkU: indices.upper, Ppk: indices.smallest });

function boxCox({ values, lowerSpec, upperSpec }: Limits & { values: number[] }) {
  const result: PowerTransformation = answerOf(fitPowerTransformation(values));
  const transformed = (limit: number | null) =>
    limit === null ? null : powerTransform(limit, { method: 'box-cox', lambda: result.lambda });
  const [lower, upper] = [transformed(lowerSpec), transformed(upperSpec)];
  return {
    lambda: result.lambda,
    logLikelihood: result.logLikelihood,
    transformedMean: result.mean,
    transformedStandardDeviation: result.standardDeviation,
    transformedLower: lower,
    transformedUpper: upper,
    ...underTheNames(normalIndices(result.mean, result.standardDeviation, { lower, upper })),
  };
}

function fit({
  values,
  distribution,
  lowerSpec,
  upperSpec,
}: Limits & { values: number[]; distribution: string }) {
  const fitted = answerOf(fitDistribution(values, { distribution: nameOf(distribution) }));
  const indices = answerOf(
    percentileIndices(fitted.quantiles, {
      lowerSpecificationLimit: lowerSpec,
      upperSpecificationLimit: upperSpec,
    }),
  );
  return {
    parameters: fitted.parameters,
    logLikelihood: fitted.logLikelihood,
    andersonDarling: fitted.andersonDarling,
    q00135: fitted.quantiles.lowerPercentile,
    q50: fitted.quantiles.median,
    q99865: fitted.quantiles.upperPercentile,
    ...underTheNames(indices),
  };
}

/** Keyed by inputs.kind. */
export const nonNormalHandlers: CaseHandlers = { fit, boxCox };

/** Keyed by the last part of the id. */
export const normalityHandlers: CaseHandlers = {
  'anderson-darling': ({ values }) => {
    const result = answerOf(andersonDarling(values));
    return {
      andersonDarling: result.statistic,
      andersonDarlingAdjusted: result.adjustedStatistic,
      pValue: result.pValue,
    };
  },
  shapiro: ({ values }) => {
    const result = answerOf(shapiroWilk(values));
    return { W: result.statistic, pValue: result.pValue };
  },
  moments: ({ values }) => {
    const { skewness, excessKurtosis, omnibus } = answerOf(skewnessAndKurtosis(values));
    return {
      skewness,
      kurtosisExcess: excessKurtosis,
      skewnessZ: omnibus.available ? omnibus.skewnessScore : null,
      kurtosisZ: omnibus.available ? omnibus.kurtosisScore : null,
      K2: omnibus.available ? omnibus.statistic : null,
      pValue: omnibus.available ? omnibus.pValue : null,
    };
  },
};

/** Keyed by inputs.kind. */
export const distributionFitChecksHandlers: CaseHandlers = {
  tail: ({ distribution, parameters, x }) => {
    const given = { distribution: nameOf(distribution), parameters } as Distribution;
    return { lower: distributionLowerTail(given, x), upper: distributionUpperTail(given, x) };
  },
  quantile: ({ distribution, parameters, probability }) => ({
    quantile: distributionQuantile(
      { distribution: nameOf(distribution), parameters } as Distribution,
      probability,
    ),
  }),
  fit: ({ distribution, values }) => {
    const fitted = answerOf(fitDistribution(values, { distribution: nameOf(distribution) }));
    return { parameters: fitted.parameters, logLikelihood: fitted.logLikelihood };
  },
  powerInterval: ({ values, method, confidence }) => {
    const { lambda, interval } = answerOf(fitPowerTransformation(values, { method, confidence }));
    return { lambda, lower: interval.lower, upper: interval.upper };
  },
  shapiro: normalityHandlers.shapiro!,
  moments: normalityHandlers.moments!,
  plot: ({ values, parameters, plottingPosition, confidence }) => {
    const { points } = probabilityPlot(values, {
      fitted: { distribution: 'normal', parameters },
      plottingPosition: plottingPosition as PlottingPosition,
      confidence,
    });
    return {
      probability: points.map((point) => point.probability),
      theoreticalQuantile: points.map((point) => point.theoreticalQuantile),
      lowerBound: points.map((point) => point.lowerBound),
      upperBound: points.map((point) => point.upperBound),
    };
  },
};
