/** How the cases of robust-and-short-run are worked out. */
import {
  deviationFromNominalChart,
  type Outcome,
  qBinomialChart,
  qMeanChart,
  qSubgroupChart,
  qVarianceChart,
  robustLimitsChart,
  type ShortRunCharts,
  standardisedChart,
  standardisedIndividualsChart,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

function available<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(outcome.message);
  return outcome;
}

const values = (chart: { readonly points: readonly { readonly value: number | null }[] }) =>
  chart.points.map(({ value }) => value);

const signals = (chart: ShortRunCharts['location']) =>
  chart.points.filter(({ beyondLimits }) => beyondLimits).map(({ index }) => index);

/** The last limits of a chart; a lower limit of a range that does not exist is 0 in the file. */
function lines(chart: ShortRunCharts['location']) {
  const { centerLine, lowerControlLimit, upperControlLimit } = chart.points.at(-1)!.limits!;
  return { center: centerLine, lower: lowerControlLimit ?? 0, upper: upperControlLimit };
}

const limits = (chart: ShortRunCharts['location']) => [lines(chart).lower, lines(chart).upper];

/** Our ±40 stands for infinity, and so does a Q that no event has been counted for: its probability is 1. */
function infinite(q: number | null, index: number, isKnown: boolean) {
  if (q === null) return index === 0 && !isKnown ? null : Infinity;
  return Math.abs(q) === 40 ? Math.sign(q) * Infinity : q;
}

/** Keyed by inputs.kind. */
export const shortRunHandlers: CaseHandlers = {
  robust: (inputs) => {
    const {
      basis,
      points,
      signals: outOfLimits,
    } = available(robustLimitsChart(inputs.values, { multiple: inputs.kSigma }));
    return {
      median: basis.median,
      mad: basis.medianAbsoluteDeviation,
      sigmaMad: basis.standardDeviationFromMedianAbsoluteDeviation,
      q1: basis.lowerQuartile,
      q3: basis.upperQuartile,
      sigmaIqr: basis.standardDeviationFromInterquartileRange,
      hodgesLehmann: basis.hodgesLehmann,
      limits: [points[0]!.limits!.lowerControlLimit, points[0]!.limits!.upperControlLimit],
      outOfLimits,
    };
  },
  qIndividuals: (inputs) => ({
    q: values(
      qMeanChart(inputs.values, {
        mean: inputs.knownMean ?? undefined,
        standardDeviation: inputs.knownSigma ?? undefined,
      }),
    ),
  }),
  qVariance: (inputs) => ({
    q: values(qVarianceChart(inputs.values, { standardDeviation: inputs.knownSigma ?? undefined })),
  }),
  qSubgroups: ({ subgroups }) => {
    const { location, spread } = qSubgroupChart(subgroups);
    return { meanQ: values(location), varianceQ: values(spread) };
  },
  qBinomial: ({ counts, sampleSizes, knownProportion }) => {
    const samples = counts.map((count: number, index: number) => ({ count, size: sampleSizes[index] }));
    const chart = qBinomialChart(samples, { standard: knownProportion ?? undefined });
    return { q: values(chart).map((q, index) => infinite(q, index, knownProportion !== null)) };
  },
  dnom: ({ parts, subgroups, nominals, kSigma }) => {
    const charts = available(
      deviationFromNominalChart(
        subgroups.map((readings: number[], index: number) => ({ part: parts[index], readings })),
        {
          models: Object.entries<number>(nominals).map(([part, nominal]) => ({ part, nominal })),
          multiple: kSigma,
        },
      ),
    );
    return {
      deviations: values(charts.location),
      ranges: values(charts.spread),
      meanChart: lines(charts.location),
      rangeChart: lines(charts.spread),
    };
  },
  standardised: ({ parts, subgroups, targets, averageRanges, kSigma }) => {
    const charts = available(
      standardisedChart(
        subgroups.map((readings: number[], index: number) => ({ part: parts[index], readings })),
        {
          models: Object.entries<number>(targets).map(([part, target]) => ({
            part,
            target,
            averageRange: averageRanges[part],
          })),
          subgroupSize: subgroups[0].length,
          multiple: kSigma,
        },
      ),
    );
    return {
      mean: values(charts.location),
      range: values(charts.spread),
      meanLimits: limits(charts.location),
      rangeLimits: limits(charts.spread),
    };
  },
  zMr: ({ parts, values: readings, means, sigmas, kSigma }) => {
    const charts = available(
      standardisedIndividualsChart(
        readings.map((value: number, index: number) => ({ part: parts[index], value })),
        {
          models: Object.entries<number>(means).map(([part, mean]) => ({
            part,
            mean,
            standardDeviation: sigmas[part],
          })),
          multiple: kSigma,
        },
      ),
    );
    return {
      z: values(charts.location),
      w: values(charts.spread),
      zLimits: limits(charts.location),
      wChart: lines(charts.spread),
      zOut: signals(charts.location),
      wOut: signals(charts.spread),
    };
  },
};
