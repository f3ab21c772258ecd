/** How the cases of attributes-charts and control-charts-attributes are worked out. */
import type { AttributesLimits } from '../../src/charts/attributes/attributes-family.ts';
import {
  type ChartPoint,
  type CountSample,
  cChart,
  npChart,
  type Outcome,
  pChart,
  pPrimeChart,
  uChart,
  uPrimeChart,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

interface Inputs {
  readonly counts: readonly (number | null)[];
  readonly sampleSizes?: readonly number[];
  readonly areas?: readonly number[];
  readonly kSigma: number;
  readonly knownCenter?: number;
}
interface Expected {
  readonly center: unknown;
}
interface Chart {
  readonly points: readonly ChartPoint<AttributesLimits>[];
  readonly signals: readonly number[];
  readonly basis: { readonly standard: number };
}

function available<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(outcome.message);
  return outcome;
}

const samplesOf = ({ counts, sampleSizes, areas }: Inputs): (CountSample | null)[] =>
  counts.map((count, index) => (count === null ? null : { count, size: (sampleSizes ?? areas)![index]! }));

const optionsOf = ({ kSigma, knownCenter }: Inputs) => ({
  ...(knownCenter === undefined ? {} : { standard: knownCenter }),
  multiple: kSigma,
});

/** The files clip limits at what is possible; ours do not exist there. One limit for all where the file has one. */
function lines(chart: Chart, expected: Expected, most: (point: ChartPoint) => number) {
  const column = (line: (limits: AttributesLimits, point: ChartPoint) => number) => {
    const all = chart.points.map((point) => (point.limits === null ? null : line(point.limits, point)));
    return Array.isArray(expected.center) ? all : all.find((value) => value !== null);
  };
  return {
    average: chart.basis.standard,
    plotted: chart.points.map(({ value }) => value),
    center: column(({ centerLine }) => centerLine),
    lower: column(({ lowerControlLimit }) => lowerControlLimit ?? 0),
    upper: column(({ upperControlLimit }, point) => upperControlLimit ?? most(point)),
    outOfLimits: chart.signals,
  };
}

/** Keyed by inputs.kind. */
export const attributesHandlers: CaseHandlers = {
  p: (inputs, expected) => lines(available(pChart(samplesOf(inputs), optionsOf(inputs))), expected, () => 1),
  np: (inputs, expected) =>
    lines(available(npChart(samplesOf(inputs), optionsOf(inputs))), expected, ({ size }) => size),
  c: (inputs, expected) =>
    lines(available(cChart(inputs.counts, optionsOf(inputs))), expected, () => Number.NaN),
  u: (inputs, expected) =>
    lines(available(uChart(samplesOf(inputs), optionsOf(inputs))), expected, () => Number.NaN),
  pPrime: (inputs, expected) => {
    const chart = available(pPrimeChart(samplesOf(inputs), optionsOf(inputs)));
    return { ...lines(chart, expected, () => 1), sigmaZ: chart.basis.zStandardDeviation, z: chart.basis.z };
  },
  uPrime: (inputs, expected) => {
    const chart = available(uPrimeChart(samplesOf(inputs), optionsOf(inputs)));
    return {
      ...lines(chart, expected, () => Number.NaN),
      sigmaZ: chart.basis.zStandardDeviation,
      z: chart.basis.z,
    };
  },
};

/** Published cases count the samples from 1. */
const published = (chart: Chart, zeroBased: number) => ({
  average: chart.basis.standard,
  upperControlLimit: chart.points[0]!.limits!.upperControlLimit,
  lowerControlLimit: chart.points[0]!.limits!.lowerControlLimit ?? 0,
  outside: chart.signals.map((index) => index + zeroBased),
});

/** Keyed by id. */
export const publishedAttributesHandlers: CaseHandlers = {
  'c-chart-wafer-defects': ({ counts }) => {
    const { average, outside, ...limits } = published(available(cChart(counts)), 1);
    return { centerLine: average, ...limits, pointsAboveUpper: outside };
  },
  'p-chart-chip-misregistration': ({ sampleSize, defectives }) => {
    const samples = defectives.map((count: number) => ({ count, size: sampleSize }));
    const { average, outside, ...limits } = published(available(pChart(samples)), 1);
    return { averageProportion: average, ...limits, pointsAboveUpper: outside };
  },
  'u-chart-printed-circuit-boards': ({ unitsPerSample, counts }) => {
    const samples = counts.map((count: number) => ({ count, size: unitsPerSample }));
    const { average, outside, ...limits } = published(available(uChart(samples)), 1);
    return { averageDefectsPerUnit: average, ...limits, pointsOutside: outside };
  },
};
