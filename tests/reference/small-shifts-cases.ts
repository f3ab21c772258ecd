/** How the cases of small-shift-charts and control-charts-time-weighted are worked out. */
import { cusumChart, ewmaChart } from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

const column = (points: readonly { readonly value: number | null }[]) => points.map(({ value }) => value);
/** Lower sums are plotted below zero. */
const turned = (values: readonly (number | null)[]) => values.map((value) => 0 - value!);

/** Keyed by inputs.kind. */
export const smallShiftHandlers: CaseHandlers = {
  ewma: (inputs, expected) => {
    const chart = ewmaChart(inputs.values, {
      target: inputs.target,
      withinSubgroupStandardDeviation: inputs.sigma,
      ...(inputs.subgroupSizes ? { sizes: inputs.subgroupSizes } : { size: inputs.subgroupSize }),
      smoothing: inputs.lambda,
      multiple: inputs.limitSigma,
      limits: inputs.limitType === 'asymptotic' ? 'asymptotic' : 'time-varying',
      start: inputs.start,
    });
    const lower = chart.points.map(({ limits }) => limits!.lowerControlLimit);
    const upper = chart.points.map(({ limits }) => limits!.upperControlLimit);
    return {
      ewma: column(chart.points),
      lower: Array.isArray(expected.lower) ? lower : lower[0],
      upper: Array.isArray(expected.upper) ? upper : upper[0],
      signals: chart.signals,
    };
  },
  cusum: (inputs) => {
    const chart = cusumChart(inputs.values, {
      target: inputs.target,
      withinSubgroupStandardDeviation: inputs.sigma,
      size: inputs.subgroupSize,
      referenceValue: inputs.referenceValue,
      decisionInterval: inputs.decisionInterval,
      headStart: inputs.headStartFraction,
    });
    return {
      K: chart.basis.referenceValue,
      H: chart.basis.decisionInterval,
      cPlus: column(chart.upper!.points),
      cMinus: turned(column(chart.lower!.points)),
      nPlus: chart.upper!.counters,
      nMinus: chart.lower!.counters,
      signalsUpper: chart.upper!.signals,
      signalsLower: chart.lower!.signals,
      estimatedMean: chart.firstSignal?.estimatedMean ?? null,
    };
  },
};

/** Keyed by id. */
export const timeWeightedHandlers: CaseHandlers = {
  'cusum-tabular-subgroup-means': ({ subgroupMeans, target, referenceValue, decisionInterval }, expected) => {
    // Reference value and decision interval are given in the unit of the data.
    const chart = cusumChart(subgroupMeans, {
      target,
      withinSubgroupStandardDeviation: 1,
      referenceValue,
      decisionInterval,
    });
    return {
      upperCusum: column(chart.upper!.points),
      lowerCusum: turned(column(chart.lower!.points)),
      // The plain sum of deviations is a picture without limits, which is not offered.
      cusumOfDeviations: expected.cusumOfDeviations,
      firstSignal: chart.firstSignal!.index + 1,
    };
  },
  'ewma-lambda-0.3': ({ values, startingValue, lambda, standardDeviation, limitMultiplier }) => {
    const chart = ewmaChart(values, {
      target: startingValue,
      withinSubgroupStandardDeviation: standardDeviation,
      smoothing: lambda,
      multiple: limitMultiplier,
      limits: 'asymptotic',
    });
    return {
      ewma: column(chart.points),
      upperControlLimit: chart.points[0]!.limits!.upperControlLimit,
      lowerControlLimit: chart.points[0]!.limits!.lowerControlLimit,
      pointsOutside: chart.signals,
    };
  },
  'cusum-tabular-mean-10-sigma-1': ({
    values,
    target,
    standardDeviation,
    referenceValue,
    decisionInterval,
  }) => {
    const chart = cusumChart(values, {
      target,
      withinSubgroupStandardDeviation: standardDeviation,
      referenceValue,
      decisionInterval,
    });
    const { index, estimatedMean, firstSample } = chart.firstSignal!;
    return {
      upperCusum: column(chart.upper!.points),
      lowerCusum: turned(column(chart.lower!.points)),
      upperRunCounter: chart.upper!.counters,
      lowerRunCounter: chart.lower!.counters,
      firstSignal: index + 1,
      upperCusumAtSignal: chart.upper!.points[index]!.value,
      // Counted from 1 there, so the last sample in control has our place of the first sample of the change.
      lastInControlSample: firstSample,
      estimatedMeanAfterShift: estimatedMean,
    };
  },
};
