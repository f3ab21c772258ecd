import type { StandardDeviationMethod } from '../charts/control-chart.ts';
import { estimateStandard } from '../charts/variables/estimate-standard.ts';
import { requireName } from '../checks.ts';
import { type Outcome, StatisticsError, type Unavailable } from '../errors.ts';
import type { Subgroup } from '../samples/subgroup.ts';
import { subgroupStatistics } from '../samples/subgroup-statistics.ts';
import { boundedNormalIndices, type NormalIndex } from './bounded-normal-indices.ts';
import { degreesOfFreedom } from './degrees-of-freedom.ts';
import { type IndexInterval, requireIndexConfidence, targetIndexInterval } from './index-interval.ts';
import { type ExpectedNonconforming, expectedNonconforming } from './normal-indices.ts';
import { type EffectiveLimits, effectiveLimits, type SpecificationLimits } from './specification.ts';

/** An index, never without what it stands on. Dimensionless. */
export interface CapabilityIndex extends IndexInterval {
  readonly estimate: number;
  /** Readings behind it. */
  readonly sampleSize: number;
  readonly degreesOfFreedom: number;
  /** Which standard deviation it divides by: the one inside subgroups (capability) or of all readings (performance). */
  readonly standardDeviation: 'within-subgroup' | 'overall';
  /** The interval is exact for normal values of a stable process; otherwise it is an approximation. */
  readonly exact: boolean;
}

export interface Capability {
  readonly sampleSize: number;
  readonly subgroupsUsed: number;
  readonly mean: number;
  readonly withinSubgroupStandardDeviation: number;
  readonly overallStandardDeviation: number;
  readonly method: StandardDeviationMethod;
  readonly lowerSpecificationLimit: number | null;
  readonly upperSpecificationLimit: number | null;
  /** Capability, with the within-subgroup standard deviation. null: the limit it needs is missing. */
  readonly cp: CapabilityIndex | null;
  readonly cpl: CapabilityIndex | null;
  readonly cpu: CapabilityIndex | null;
  readonly cpk: CapabilityIndex;
  /** Performance, with the overall standard deviation. */
  readonly pp: CapabilityIndex | null;
  readonly ppl: CapabilityIndex | null;
  readonly ppu: CapabilityIndex | null;
  readonly ppk: CapabilityIndex;
  /** About the target, with the overall standard deviation. */
  readonly cpm: CapabilityIndex | null;
  /**
   * Why there is no Cpm; null where there is one. A nominal on a specification limit says which side the tolerance
   * lies on, not where the values should lie: half of a process centred there would be nonconforming.
   */
  readonly cpmUnavailable: 'limit-missing' | 'no-target' | 'target-on-limit' | null;
  /** Fractions of parts, if the values are normal. */
  readonly expectedWithin: ExpectedNonconforming;
  readonly expectedOverall: ExpectedNonconforming;
  /** Readings outside the specification; null for a missing limit. */
  readonly observedBelow: number | null;
  readonly observedAbove: number | null;
}

export interface CapabilityOptions {
  /** How the within-subgroup standard deviation is estimated. */
  readonly method: Exclude<StandardDeviationMethod, 'given'>;
  /** Of every interval and bound. Default 0.95. */
  readonly confidence?: number;
  /**
   * What Cpm divides by: √(s² + (mean − target)²), or the root of the mean square about the target. Default
   * 'sample-variance'.
   */
  readonly cpmFrom?: 'sample-variance' | 'mean-square';
}

/** A standard deviation this small against the values is rounding error, not variation. */
const smallestVariation = 1e-13;

/**
 * Is the process good enough for the drawing? Capability indices (within-subgroup standard deviation), performance
 * indices (overall), each with an interval, a lower and an upper confidence bound and their method, and the
 * expected fraction nonconforming, with small relative error however far out the limit is.
 *
 * Cp = (U − L)/(6σ), Cpl = (mean − L)/(3σ), Cpu = (U − mean)/(3σ), Cpk the smaller of the two;
 * Cpm = (U − L)/(6√(s² + (mean − T)²)). With one limit there is no Cp, Pp or Cpm, and Cpk is the one-sided index.
 * A target on a limit, as the nominal of 80 +0.15/0, is none for Cpm (house rule); `cpmUnavailable` says so.
 * A limit at or beyond a natural bound cannot be violated and counts as missing.
 *
 * Whether an index may be quoted at all is another question: see capabilityVerdict.
 *
 * @param subgroups      readings in time order in the unit of the specification; null marks a missing one. For
 *                       individuals, one reading each and method 'moving-range'.
 * @param specification  at least one limit.
 * @returns              Capability, or Unavailable `too-few-values`, `no-variation`, `no-specification-limit`.
 * @throws               StatisticsError `empty`, `not-finite`, `limits-reversed`, `target-outside`, `out-of-range`,
 *                       `unknown-name`, naming the field.
 *
 * Source: ISO 22514-2; Montgomery, Introduction to Statistical Quality Control, chapter 8; Cpm: Chan, Cheng and
 * Spiring, Journal of Quality Technology 20 (1988) 162-175.
 *
 * @example
 * capability([[12.01, 11.99], [12.0, 12.02], [11.98, 12.0]],
 *   { lowerSpecificationLimit: 11.92, upperSpecificationLimit: 12.08 }, { method: 'pooled' });
 * // available, cpk.estimate 1.88…, cpk.lowerBound 0.5997…, cpk.sampleSize 6
 */
export function capability(
  subgroups: readonly Subgroup[],
  specification: SpecificationLimits,
  options: CapabilityOptions,
): Outcome<Capability> {
  const { method, confidence = 0.95, cpmFrom = 'sample-variance' } = options;
  if (subgroups.length === 0)
    throw new StatisticsError('empty', 'subgroups', subgroups, 'At least one subgroup is needed.');
  requireName(cpmFrom, ['sample-variance', 'mean-square'], 'options.cpmFrom');
  requireIndexConfidence(confidence, 'options.confidence');
  subgroups.forEach((subgroup, index) => {
    subgroup.forEach((reading, position) => {
      if (reading !== null && !Number.isFinite(reading))
        throw new StatisticsError('not-finite', `subgroups.${index}.${position}`, reading);
    });
  });
  const limits = effectiveLimits(specification);
  if ('available' in limits) return limits;

  const readings = subgroups.flat().filter((reading) => reading !== null);
  const overall = subgroupStatistics(readings);
  if (overall.mean === null || overall.standardDeviation === null)
    return {
      available: false,
      reason: 'too-few-values',
      message: `A capability needs at least 2 readings; there ${readings.length === 1 ? 'is 1' : 'are none'}.`,
    };
  const { mean, standardDeviation: overallStandardDeviation } = overall;
  const magnitude = Math.max(Math.abs(mean), Math.abs(limits.lower ?? 0), Math.abs(limits.upper ?? 0));
  const tooSteady = (standardDeviation: number) => standardDeviation <= smallestVariation * magnitude;
  if (tooSteady(overallStandardDeviation)) return noVariation;
  const statistics = subgroups.map(subgroupStatistics);
  const within = estimateStandard(statistics, { method });
  if (!within.available) return within;
  const { withinSubgroupStandardDeviation } = within.standard;
  if (tooSteady(withinSubgroupStandardDeviation)) return noVariation;

  const sampleSize = readings.length;
  const indices = (kind: 'within-subgroup' | 'overall') => {
    const standardDeviation = kind === 'overall' ? overallStandardDeviation : withinSubgroupStandardDeviation;
    const freedom = kind === 'overall' ? sampleSize - 1 : degreesOfFreedom(statistics, method);
    const sample = {
      sampleSize,
      mean,
      standardDeviation,
      degreesOfFreedom: freedom,
      isChiSquare: kind === 'overall' || method === 'pooled',
    };
    const { tolerance, lower, upper, smallest } = boundedNormalIndices(sample, limits, confidence);
    const named = (index: NormalIndex): CapabilityIndex => ({
      ...index,
      degreesOfFreedom: freedom,
      standardDeviation: kind,
    });
    return {
      tolerance: tolerance && named(tolerance),
      lower: lower && named(lower),
      upper: upper && named(upper),
      smallest: named(smallest),
      expected: expectedNonconforming(mean, standardDeviation, limits),
    };
  };
  const inside = indices('within-subgroup');
  const all = indices('overall');

  let cpm: CapabilityIndex | null = null;
  const { target = null } = specification;
  const cpmUnavailable = whyNoCpm(target, limits);
  if (target !== null && limits.lower !== null && limits.upper !== null && cpmUnavailable === null) {
    const variance =
      overallStandardDeviation ** 2 * (cpmFrom === 'mean-square' ? (sampleSize - 1) / sampleSize : 1);
    const estimate = (limits.upper - limits.lower) / (6 * Math.sqrt(variance + (mean - target) ** 2));
    const distance = (mean - target) / overallStandardDeviation;
    cpm = {
      ...targetIndexInterval(estimate, distance, { sampleSize, confidence }),
      estimate,
      sampleSize,
      standardDeviation: 'overall',
      exact: false,
    };
  }

  return {
    available: true,
    sampleSize,
    subgroupsUsed: within.subgroupsUsed,
    mean,
    withinSubgroupStandardDeviation,
    overallStandardDeviation,
    method,
    lowerSpecificationLimit: limits.lower,
    upperSpecificationLimit: limits.upper,
    cp: inside.tolerance,
    cpl: inside.lower,
    cpu: inside.upper,
    cpk: inside.smallest,
    pp: all.tolerance,
    ppl: all.lower,
    ppu: all.upper,
    ppk: all.smallest,
    cpm,
    cpmUnavailable,
    expectedWithin: inside.expected,
    expectedOverall: all.expected,
    observedBelow:
      limits.lower === null ? null : readings.filter((reading) => reading < limits.lower!).length,
    observedAbove:
      limits.upper === null ? null : readings.filter((reading) => reading > limits.upper!).length,
  };
}

function whyNoCpm(target: number | null, { lower, upper }: EffectiveLimits): Capability['cpmUnavailable'] {
  if (lower === null || upper === null) return 'limit-missing';
  if (target === null) return 'no-target';
  return target === lower || target === upper ? 'target-on-limit' : null;
}

const noVariation: Unavailable = {
  available: false,
  reason: 'no-variation',
  message:
    'All readings are equal, so an index would have no meaning. Check that the gauge resolves the variation.',
};
