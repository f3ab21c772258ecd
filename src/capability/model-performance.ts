import type { DistributionName } from '../distribution-fit/fitted-distribution.ts';
import type { Physics } from '../distribution-fit/physics.ts';
import { rankDistributions } from '../distribution-fit/rank-distributions.ts';
import type { Outcome } from '../errors.ts';
import { randomSource } from '../numerics/random.ts';
import { subgroupStatistics } from '../samples/subgroup-statistics.ts';
import type { BoundedIndex } from './bounded-index.ts';
import { boundedNormalIndices } from './bounded-normal-indices.ts';
import { correctedPlace } from './corrected-place.ts';
import { distributionPerformance } from './distribution-performance.ts';
import { type EqualMeans, equalMeans, type GroupMoments } from './equal-groups.ts';
import { mixtureNonconforming, mixturePercentiles } from './mixture-percentiles.ts';
import { type ExpectedNonconforming, expectedNonconforming } from './normal-indices.ts';
import { ordinaryIndices } from './percentile-indices.ts';
import { checkedResampling, drawnInterval, type ResamplingOptions } from './resampling.ts';
import { type EffectiveLimits, effectiveLimits, type SpecificationLimits } from './specification.ts';

/** Models of ISO 22514-2. */
export type TimeDependentModelName = 'A1' | 'A2' | 'B' | 'C1' | 'C2' | 'C3' | 'C4' | 'D';

/** Performance over all readings, by the method that the time-dependent model calls for. */
export interface ModelPerformance {
  readonly method:
    | 'normal formula, overall standard deviation'
    | 'percentiles of a fitted distribution'
    | 'percentiles of the mixture of the levels';
  readonly distribution: DistributionName | null;
  readonly pp: BoundedIndex | null;
  readonly ppl: BoundedIndex | null;
  readonly ppu: BoundedIndex | null;
  readonly ppk: BoundedIndex;
  readonly expectedNonconforming: ExpectedNonconforming;
  readonly note: string;
}

interface ModelPerformanceOptions extends ResamplingOptions {
  readonly distribution?: DistributionName;
  readonly physics?: Physics;
}

/**
 * A1 and C1, whose readings are normal over all: normal formula. A2, B and D: percentiles of a fitted distribution. C2,
 * C3 and C4: percentiles of the mixture of normal subgroups about their levels.
 *
 * Source: ISO 22514-2 (methods by location and dispersion; cited from memory). Degrees of freedom of C1: Satterthwaite,
 * Biometrics Bulletin 2 (1946) 110-114.
 */
export function modelPerformance(
  model: TimeDependentModelName,
  subgroups: readonly (readonly number[])[],
  groups: readonly GroupMoments[],
  analysis: EqualMeans,
  specification: SpecificationLimits,
  options: ModelPerformanceOptions,
): Outcome<ModelPerformance> {
  const limits = effectiveLimits(specification);
  if ('available' in limits) return limits;
  if (model === 'A1' || model === 'C1')
    return byNormalFormula(model, subgroups.flat(), groups, analysis, limits, options);
  if (model === 'C2' || model === 'C3' || model === 'C4') return byMixture(model, groups, limits, options);
  return byFit(model, subgroups.flat(), specification, options);
}

const period = 'The index describes the period that was measured, not what comes after it.';

function byNormalFormula(
  model: 'A1' | 'C1',
  readings: readonly number[],
  groups: readonly GroupMoments[],
  { betweenMeanSquare, withinMeanSquare }: EqualMeans,
  limits: EffectiveLimits,
  options: ModelPerformanceOptions,
): Outcome<ModelPerformance> {
  const { confidence } = checkedResampling(options, 1000);
  const overall = subgroupStatistics(readings);
  const n = readings.length;
  const mean = overall.mean!;
  const standardDeviation = overall.standardDeviation!;
  let degreesOfFreedom = n - 1;
  let sampleSize = n;
  if (model === 'C1') {
    // The overall variance is mostly that of the levels, of which there are few.
    const size = n / groups.length;
    const total = betweenMeanSquare + (size - 1) * withinMeanSquare;
    degreesOfFreedom =
      total ** 2 /
      (betweenMeanSquare ** 2 / (groups.length - 1) +
        ((size - 1) * withinMeanSquare) ** 2 / (n - groups.length));
    sampleSize = Math.max(2, Math.min(n, total / size / (betweenMeanSquare / n)));
  }
  const sample = { sampleSize, mean, standardDeviation, degreesOfFreedom, isChiSquare: model === 'A1' };
  const { tolerance, lower, upper, smallest } = boundedNormalIndices(sample, limits, confidence);
  const named = <Index extends BoundedIndex>(index: Index): Index => ({ ...index, sampleSize: n });
  return {
    available: true,
    method: 'normal formula, overall standard deviation',
    distribution: 'normal',
    pp: tolerance && named(tolerance),
    ppl: lower && named(lower),
    ppu: upper && named(upper),
    ppk: named(smallest),
    expectedNonconforming: expectedNonconforming(mean, standardDeviation, limits),
    note:
      model === 'A1'
        ? 'Level and spread stay, so capability may be quoted as well.'
        : `Bounds as if from ${Math.round(sampleSize)} independent readings, because the levels vary and there are ${groups.length} of them.`,
  };
}

function byFit(
  model: TimeDependentModelName,
  readings: readonly number[],
  specification: SpecificationLimits,
  options: ModelPerformanceOptions,
): Outcome<ModelPerformance> {
  const { physics = 'unknown' } = options;
  const distribution = options.distribution ?? rankDistributions(readings, { physics }).recommended;
  if (distribution === null)
    return {
      available: false,
      reason: 'outside-method',
      message:
        'No single distribution serves for these readings. Name one, or look at the chart of the levels first.',
    };
  const { confidence, resamples, seed } = options;
  const found = distributionPerformance(readings, specification, {
    distribution,
    ...(confidence !== undefined && { confidence }),
    ...(resamples !== undefined && { resamples }),
    ...(seed !== undefined && { seed }),
  });
  if (!found.available) return found;
  return {
    available: true,
    method: 'percentiles of a fitted distribution',
    distribution,
    pp: found.pp,
    ppl: found.ppl,
    ppu: found.ppu,
    ppk: found.ppk,
    expectedNonconforming: found.expectedNonconforming,
    note:
      model === 'A2'
        ? `The shape of the tail beyond the readings is that of the ${distribution} distribution, an assumption.`
        : `${period} Readings of one subgroup are alike, so the bounds are narrower than they should be.`,
  };
}

/** Levels are brought together so that their variance is what the readings leave of it. */
function levelsOf(groups: readonly GroupMoments[]) {
  const { betweenMeanSquare, withinMeanSquare } = equalMeans(groups);
  const total = groups.reduce((sum, { size }) => sum + size, 0);
  const mean =
    groups[0]!.mean + groups.reduce((sum, g) => sum + g.size * (g.mean - groups[0]!.mean), 0) / total;
  const shrink = Math.sqrt(Math.max(0, 1 - withinMeanSquare / betweenMeanSquare)) || 0;
  return groups.map((group) => ({
    mean: mean + (group.mean - mean) * shrink,
    standardDeviation: Math.sqrt(withinMeanSquare),
    share: group.size / total,
  }));
}

function byMixture(
  model: TimeDependentModelName,
  groups: readonly GroupMoments[],
  limits: EffectiveLimits,
  options: ModelPerformanceOptions,
): Outcome<ModelPerformance> {
  const { confidence, resamples, seed } = checkedResampling(
    options,
    Math.max(100, Math.min(500, Math.floor(25_000 / groups.length))),
  );
  const parts = levelsOf(groups);
  const estimates = ordinaryIndices(mixturePercentiles(parts), limits);
  const random = randomSource(seed);
  const kinds = ['tolerance', 'lower', 'upper', 'smallest'] as const;
  const draws = kinds.map(() => new Float64Array(resamples));
  for (let resample = 0; resample < resamples; resample++) {
    const drawn = groups.map(() => groups[Math.floor(random.uniform() * groups.length)]!);
    const within = drawn.some(({ standardDeviation }) => standardDeviation > 0) ? drawn : groups;
    const indices = ordinaryIndices(mixturePercentiles(levelsOf(within)), limits);
    kinds.forEach((kind, row) => {
      draws[row]![resample] = indices[kind] ?? 0;
    });
  }
  const [pp, ppl, ppu, ppk] = kinds.map((kind, row): BoundedIndex | null => {
    const estimate = estimates[kind];
    if (estimate === null) return null;
    return {
      estimate,
      sampleSize: groups.reduce((sum, { size }) => sum + size, 0),
      method: 'bias-corrected bootstrap',
      ...drawnInterval(draws[row]!, confidence, correctedPlace(draws[row]!.sort(), estimate, 0)),
      exact: false,
    };
  });
  return {
    available: true,
    method: 'percentiles of the mixture of the levels',
    distribution: null,
    pp: pp!,
    ppl: ppl!,
    ppu: ppu!,
    ppk: ppk!,
    expectedNonconforming: mixtureNonconforming(parts, limits),
    note: `${model === 'C2' ? '' : `${period} `}Bounds from ${groups.length} levels drawn anew, as if each were independent of the one before.`,
  };
}
