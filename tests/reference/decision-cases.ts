/** How the cases of capability, process-capability and statistical-tests are worked out. */
import { expectedNonconforming, normalIndices } from '../../src/capability/normal-indices.ts';
import type { Outcome } from '../../src/errors.ts';
import {
  andersonDarlingCriticalValues,
  andersonDarlingPValue,
  bartlettTest,
  type Capability,
  type CapabilityOptions,
  capability,
  estimateNeeded,
  grubbsTest,
  meanInterval,
  meanSampleSize,
  meanTest,
  oneSidedIndexInterval,
  percentileIndices,
  type Subgroup,
  smallestIndexInterval,
  standardDeviationTest,
  toleranceIndexInterval,
  toleranceIndexRatio,
  twoSampleComparison,
} from '../../src/index.ts';
import { normalUpperTail } from '../../src/numerics/normal.ts';
import type { CaseHandlers } from './run-cases.ts';

const methods: Record<string, CapabilityOptions['method']> = {
  rangeOverD2: 'range',
  sdOverC4: 'standard-deviation',
  pooledSd: 'pooled',
  movingRange: 'moving-range',
};

const partsPerMillion = (fractions: { below: number | null; above: number | null; total: number }) => ({
  belowPpm: fractions.below === null ? null : fractions.below * 1e6,
  abovePpm: fractions.above === null ? null : fractions.above * 1e6,
  totalPpm: fractions.total * 1e6,
});

function fromData(inputs: {
  subgroups: (number[] | number | null)[];
  lowerSpec: number | null;
  upperSpec: number | null;
  target: number | null;
  sigmaMethod: string;
}) {
  const subgroups = inputs.subgroups.map((entry): Subgroup => (Array.isArray(entry) ? entry : [entry]));
  const specification = {
    lowerSpecificationLimit: inputs.lowerSpec,
    upperSpecificationLimit: inputs.upperSpec,
    target: inputs.target,
  };
  const compute = (cpmFrom: 'sample-variance' | 'mean-square'): Capability => {
    const result = capability(subgroups, specification, { method: methods[inputs.sigmaMethod]!, cpmFrom });
    if (!result.available) throw new Error(result.message);
    return result;
  };
  const result = compute('sample-variance');
  return {
    mean: result.mean,
    sigmaWithin: result.withinSubgroupStandardDeviation,
    sigmaOverall: result.overallStandardDeviation,
    Cp: result.cp?.estimate ?? null,
    Cpl: result.cpl?.estimate ?? null,
    Cpu: result.cpu?.estimate ?? null,
    Cpk: result.cpk.estimate,
    Pp: result.pp?.estimate ?? null,
    Ppl: result.ppl?.estimate ?? null,
    Ppu: result.ppu?.estimate ?? null,
    Ppk: result.ppk.estimate,
    Cpm: result.cpm?.estimate ?? null,
    cpmMeanSquare: compute('mean-square').cpm?.estimate ?? null,
    expectedWithin: partsPerMillion(result.expectedWithin),
    expectedOverall: partsPerMillion(result.expectedOverall),
    observedBelow: result.observedBelow,
    observedAbove: result.observedAbove,
  };
}

/** Keyed by inputs.kind. */
export const capabilityHandlers: CaseHandlers = {
  fromData,
  interval: ({ sampleSize, degreesOfFreedom, Cp, Cpk, confidence }) => {
    const tolerance = toleranceIndexInterval(Cp, { sampleSize, degreesOfFreedom, confidence });
    const bissell = smallestIndexInterval(Cpk, { sampleSize, degreesOfFreedom, confidence });
    const heavlin = smallestIndexInterval(Cpk, { sampleSize, confidence, method: 'Heavlin' });
    return {
      cpInterval: [tolerance.lower, tolerance.upper],
      cpLowerBound: tolerance.lowerBound,
      cpkBissell: [bissell.lower, bissell.upper],
      cpkBissellLowerBound: bissell.lowerBound,
      cpkHeavlin: [heavlin.lower, heavlin.upper],
    };
  },
  oneSidedExact: ({ sampleSize, indexEstimate, confidence }) => {
    const { lower, upper, lowerBound } = oneSidedIndexInterval(indexEstimate, { sampleSize, confidence });
    return { lowerBound, interval: [lower, upper] };
  },
  nonconforming: ({ mean, sigma, lowerSpec, upperSpec }) =>
    partsPerMillion(expectedNonconforming(mean, sigma, { lower: lowerSpec, upper: upperSpec })),
};

/** Keyed by id. */
export const processCapabilityHandlers: CaseHandlers = {
  'cp-cpk-normal-process': (inputs) => {
    const indices = normalIndices(inputs.mean, inputs.standardDeviation, {
      lower: inputs.lowerSpecificationLimit,
      upper: inputs.upperSpecificationLimit,
    });
    return {
      cp: indices.tolerance,
      cpk: indices.smallest,
      cpu: indices.upper,
      cpl: indices.lower,
      // Kane 1986: Cpk = Cp(1 − k).
      scaledDistanceFromMidpoint: 1 - indices.smallest / indices.tolerance!,
    };
  },
  'cp-confidence-interval': ({
    upperSpecificationLimit,
    lowerSpecificationLimit,
    sampleSize,
    standardDeviation,
    confidence,
  }) => {
    const middle = (upperSpecificationLimit + lowerSpecificationLimit) / 2;
    const cp = normalIndices(middle, standardDeviation, {
      lower: lowerSpecificationLimit,
      upper: upperSpecificationLimit,
    }).tolerance!;
    const { lower, upper } = toleranceIndexInterval(cp, { sampleSize, confidence });
    return { cp, lower, upper, cpFullPrecision: cp, lowerFullPrecision: lower, upperFullPrecision: upper };
  },
  'cpk-normal-approximation-interval': ({ cpk, sampleSize, zValue }) => {
    // The case rounds z to 1.96, which is a confidence of 0.950004.
    const confidence = 1 - 2 * normalUpperTail(zValue);
    const { lower, upper } = smallestIndexInterval(cpk, { sampleSize, confidence });
    return { lower, upper, standardError: (upper - lower) / (2 * zValue) };
  },
  'cp-test-ratio-high-to-low-alpha-0.05': ({ alpha, beta, sampleSizes }) => {
    const ratios = Object.fromEntries(
      sampleSizes.map((sampleSize: number) => [
        sampleSize,
        toleranceIndexRatio({ sampleSize, confidence: 1 - alpha, power: 1 - beta }),
      ]),
    );
    return { cpHighOverCpLow: ratios, cpHighOverCpLowFullPrecision: ratios };
  },
  'one-sided-index-required-to-demonstrate-1.33-a': ({ requiredIndex, confidence, sampleSizes }) => ({
    minimumEstimatedIndex: Object.fromEntries(
      sampleSizes.map((sampleSize: number) => [
        sampleSize,
        estimateNeeded(requiredIndex, { sampleSize, confidence }),
      ]),
    ),
  }),
  'percentile-method-weibull': ({ shape, scale, percentiles, ...limits }) => {
    const [lowerPercentile, median, upperPercentile] = percentiles.map(
      (p: number) => scale * (-Math.log1p(-p)) ** (1 / shape),
    );
    const result = percentileIndices({ lowerPercentile, median, upperPercentile }, limits);
    if (!result.available) throw new Error(result.message);
    return {
      lowerPercentile,
      median,
      upperPercentile,
      cp: result.tolerance,
      cpu: result.upper,
      cpl: result.lower,
      cpk: result.smallest,
    };
  },
};

function withReject<T extends { readonly significant: boolean }>(result: Outcome<T>) {
  if (!result.available) throw new Error(result.message);
  return { ...result, reject: result.significant };
}

/** Keyed by id. */
export const statisticalTestsHandlers: CaseHandlers = {
  'anderson-darling-normal-critical-values': () => {
    const { '0.05': five, ...others } = andersonDarlingCriticalValues;
    return {
      criticalValues: { '0.05': five },
      criticalValuesRecalled: others,
      'pValueAt0.752': andersonDarlingPValue(0.752),
      // For information only: the random samples behind it are not published.
      sampleOutput: {},
    };
  },
  'two-sample-t-mpg': ({ sample1, sample2, alpha }) => {
    const result = twoSampleComparison(sample1, sample2, { confidence: 1 - alpha });
    if (!result.available) throw new Error(result.message);
    const { welch, pooled } = result;
    return {
      tStatistic: pooled.statistic,
      pooledStandardDeviation: pooled.pooledStandardDeviation,
      degreesOfFreedom: pooled.degreesOfFreedom,
      criticalValueTwoSided: pooled.criticalValue,
      criticalValueOneSided: pooled.oneSidedCriticalValue,
      welchStatistic: welch.statistic,
      welchDegreesOfFreedom: welch.degreesOfFreedom,
    };
  },
  'bartlett-gear': ({ groups, alpha }) => withReject(bartlettTest(groups, { confidence: 1 - alpha })),
  'grubbs-uranium': ({ values, alpha, side }) => {
    const result = grubbsTest(values, { confidence: 1 - alpha, side });
    if (!result.available) throw new Error(result.message);
    return { ...result, outlier: result.value, reject: result.isOutlier };
  },
  'confidence-interval-mean-heat-flow': ({ hypothesizedMean, confidence, ...sample }) => {
    const interval = meanInterval(sample, { confidence });
    const test = meanTest(sample, { hypothesizedMean, confidence });
    if (!test.available) throw new Error(test.message);
    return {
      tQuantile: interval.twoSidedQuantile,
      lower: interval.lower,
      upper: interval.upper,
      tStatistic: test.statistic,
      oneSidedCriticalValue: interval.oneSidedQuantile,
    };
  },
  'one-sample-t-particle-counts': ({ values, hypothesizedMean, alpha, side }) => {
    const result = withReject(meanTest(values, { hypothesizedMean, side, confidence: 1 - alpha }));
    return { ...result, tStatistic: result.statistic };
  },
  'chi-square-standard-deviation-resistivity': ({
    sampleSize,
    standardDeviation,
    hypothesizedStandardDeviation,
    alpha,
    side,
  }) => {
    const result = withReject(
      standardDeviationTest(
        { count: sampleSize, mean: 0, standardDeviation },
        { hypothesizedStandardDeviation, side, confidence: 1 - alpha },
      ),
    );
    return { ...result, criticalValue: result.upperCriticalValue };
  },
  'sample-size-one-sided-mean': ({ alpha, beta, shiftInSigma }) => {
    const result = meanSampleSize({
      shift: shiftInSigma,
      confidence: 1 - alpha,
      power: 1 - beta,
      sides: 'one-sided',
    });
    return {
      normalApproximation: result.normalValue,
      normalSampleSize: result.normalSampleSize,
      tRefinement: result.refinedValue,
      tSampleSize: result.sampleSize,
    };
  },
};
