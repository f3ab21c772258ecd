/** How the cases of constants, variables-charts, run-rules and their published counterparts are worked out. */
import type { Outcome } from '../../src/errors.ts';
import {
  type ChartPair,
  type ControlChart,
  chartFactors,
  findSignals,
  individualsAndMovingRangeChart,
  meanAndRangeChart,
  meanAndStandardDeviationChart,
  type RunRuleName,
  type RunRuleSettings,
  type StandardDeviationMethod,
  type Subgroup,
  subgroupStatistics,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

/** Keyed by 'constants'. */
export const constantsHandlers: CaseHandlers = {
  constants: ({ n, kSigma }) => {
    const factors = chartFactors(n, { multiple: kSigma });
    // E2 is the factor of individuals from the average moving range, k/d2.
    return { ...factors, E2: kSigma / factors.d2 };
  },
};

/** Keyed by 'published': the printed factors and the recomputed ones are fields of the same name. */
export const publishedConstantsHandlers: CaseHandlers = {
  published: ({ subgroupSize }) => ({
    printed: chartFactors(subgroupSize),
    fullPrecision: chartFactors(subgroupSize),
  }),
};

const methods: Record<string, Exclude<StandardDeviationMethod, 'given' | 'moving-range'>> = {
  rangeOverD2: 'range',
  sdOverC4: 'standard-deviation',
  rangeMinimumVariance: 'range-minimum-variance',
  sdMinimumVariance: 'standard-deviation-minimum-variance',
  pooledSd: 'pooled',
  pooledSdUnbiased: 'pooled-unbiased',
};

/** A chart as the cases write it: one number where they give one, else one a point. */
function chartAsCase(
  { points }: ControlChart,
  expected: Record<'center' | 'lower' | 'upper', unknown>,
  /** Where the cases clip a limit; here it does not exist. */
  lowerBound: number | null,
) {
  const column = (which: 'centerLine' | 'lowerControlLimit' | 'upperControlLimit', shape: unknown) => {
    const column = points.map(({ limits }) => (limits === null ? null : (limits[which] ?? lowerBound)));
    if (Array.isArray(shape)) return column;
    // One number for the whole chart: then every point that has limits must have this one.
    const present = column.filter((value) => value !== null);
    return new Set(present).size === 1 ? present[0] : column;
  };
  return {
    center: column('centerLine', expected.center),
    lower: column('lowerControlLimit', expected.lower),
    upper: column('upperControlLimit', expected.upper),
    outOfLimits: points.filter(({ beyondLimits }) => beyondLimits).map(({ index }) => index),
  };
}

function available<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(outcome.message);
  return outcome;
}

// biome-ignore lint/suspicious/noExplicitAny: cases are data of many shapes.
function subgroupCase(pair: ChartPair, expected: any) {
  const spreads = pair.spread.points.map(({ value }) => value);
  return {
    subgroupSizes: pair.statistics.map(({ size }) => size),
    subgroupMeans: pair.location.points.map(({ value }) => value),
    subgroupRanges: spreads,
    subgroupStandardDeviations: spreads,
    sigma: pair.standard.withinSubgroupStandardDeviation,
    pooledSd: pair.standard.withinSubgroupStandardDeviation,
    meanChart: chartAsCase(pair.location, expected.meanChart, null),
    rangeChart: chartAsCase(pair.spread, expected.rangeChart ?? {}, 0),
    standardDeviationChart: chartAsCase(pair.spread, expected.standardDeviationChart ?? {}, 0),
  };
}

/** Limits from data, or from the given standard of a case. */
const chartOptions = (inputs: {
  kSigma: number;
  sigmaMethod?: string;
  knownMean?: number;
  knownSigma?: number;
}) => ({
  multiple: inputs.kSigma,
  ...(inputs.sigmaMethod === undefined ? {} : { method: methods[inputs.sigmaMethod]! }),
  ...(inputs.knownMean === undefined ? {} : { standard: given(inputs.knownMean, inputs.knownSigma!) }),
});

const given = (mean: number, withinSubgroupStandardDeviation: number) => ({
  mean,
  withinSubgroupStandardDeviation,
  meanStandardDeviation: null,
});

/** Keyed by inputs.kind. */
export const variablesChartsHandlers: CaseHandlers = {
  'xbar-r': (inputs, expected) =>
    subgroupCase(available(meanAndRangeChart(inputs.subgroups, chartOptions(inputs))), expected),
  'xbar-s': (inputs, expected) =>
    subgroupCase(available(meanAndStandardDeviationChart(inputs.subgroups, chartOptions(inputs))), expected),
  'xbar-s-montgomery': (inputs, expected) =>
    subgroupCase(
      available(
        meanAndStandardDeviationChart(inputs.subgroups, {
          ...chartOptions(inputs),
          spreadCenterLine: 'pooled',
        }),
      ),
      expected,
    ),
  individuals: (inputs, expected) => {
    const { multiple, ...options } = chartOptions(inputs);
    const settings = { ...options, multiple, movingRangeSpan: inputs.span };
    let outcome = individualsAndMovingRangeChart(inputs.values, settings);
    if (expected.sigma === 0) {
      // The case asks for limits of no width. Estimating them is refused by name; given as a standard they are drawn.
      if (outcome.available || outcome.reason !== 'no-variation') throw new Error('expected: no variation');
      const standard = given(subgroupStatistics(inputs.values).mean!, 0);
      outcome = individualsAndMovingRangeChart(inputs.values, { ...settings, standard });
    }
    const pair = available(outcome);
    return {
      movingRanges: pair.spread.points.map(({ value }) => value),
      sigma: pair.standard.withinSubgroupStandardDeviation,
      individualsChart: chartAsCase(pair.location, expected.individualsChart, null),
      movingRangeChart: chartAsCase(pair.spread, expected.movingRangeChart, 0),
    };
  },
};

const runRuleFields: Record<string, readonly [RunRuleName, Partial<RunRuleSettings>?]> = {
  oneBeyondThreeSigma: ['one-beyond-three-sigma'],
  twoOfThreeBeyondTwoSigma: ['two-of-three-beyond-two-sigma'],
  fourOfFiveBeyondOneSigma: ['four-of-five-beyond-one-sigma'],
  sevenOneSide: ['run-on-one-side', { oneSideRunLength: 7 }],
  eightOneSide: ['run-on-one-side', { oneSideRunLength: 8 }],
  nineOneSide: ['run-on-one-side'],
  sixTrend: ['six-in-a-trend'],
  fourteenAlternating: ['fourteen-alternating'],
  fifteenWithinOneSigma: ['fifteen-within-one-sigma'],
  eightOutsideOneSigma: ['eight-outside-one-sigma'],
  eightOutsideOneSigmaBothSides: ['eight-outside-one-sigma', { outsideMustBeOnBothSides: true }],
};

/** Keyed by 'run-rules'. */
export const runRulesHandlers: CaseHandlers = {
  'run-rules': ({ values }) =>
    Object.fromEntries(
      Object.entries(runRuleFields).map(([field, [rule, options]]) => [
        field,
        findSignals(values, { rules: [rule], ...options }).map(({ index }) => index),
      ]),
    ),
};

const average = (chart: ControlChart) => subgroupStatistics(chart.points.map(({ value }) => value)).mean;

/** Keyed by id. */
export const publishedChartsHandlers: CaseHandlers = {
  'xbar-r-s-piston-rings': ({ subgroups }: { subgroups: Subgroup[] }) => {
    const ranges = available(meanAndRangeChart(subgroups));
    const deviations = available(meanAndStandardDeviationChart(subgroups));
    // A lower limit that does not exist is printed as 0.
    const limits = ({ points }: ControlChart) => {
      const { lowerControlLimit, ...others } = points[0]!.limits!;
      return { ...others, lowerControlLimit: lowerControlLimit ?? 0 };
    };
    return {
      grandMean: ranges.standard.mean,
      averageRange: average(ranges.spread),
      averageStandardDeviation: average(deviations.spread),
      xbarFromS: limits(deviations.location),
      sChart: limits(deviations.spread),
      rChart: limits(ranges.spread),
    };
  },
  'individuals-moving-range-flow-rate': ({ values, movingRangeSpan, d2 }) => {
    const own = available(individualsAndMovingRangeChart(values, { movingRangeSpan }));
    const averageMovingRange = average(own.spread)!;
    // The source rounds d2 to three decimals, which moves the limits by more than the tolerance.
    const standard = given(own.standard.mean, averageMovingRange / d2);
    const { location } = available(individualsAndMovingRangeChart(values, { movingRangeSpan, standard }));
    const { upperControlLimit, lowerControlLimit } = location.points[0]!.limits!;
    return {
      movingRanges: own.spread.points.slice(movingRangeSpan - 1).map(({ value }) => value),
      mean: own.standard.mean,
      averageMovingRange,
      upperControlLimit,
      lowerControlLimit,
      pointsOutside: location.points.filter(({ beyondLimits }) => beyondLimits).map(({ index }) => index),
    };
  },
};
