import { requireFinite, requireFraction, requireName } from '../checks.ts';
import { andersonDarling } from '../distribution-fit/anderson-darling.ts';
import { distributionNames } from '../distribution-fit/families.ts';
import type { DistributionName } from '../distribution-fit/fitted-distribution.ts';
import type { Physics } from '../distribution-fit/physics.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { fUpperTail } from '../numerics/f-distribution.ts';
import type { Subgroup } from '../samples/subgroup.ts';
import { subgroupStatistics } from '../samples/subgroup-statistics.ts';
import { equalMeans, type GroupMoments } from './equal-groups.ts';
import { type ModelPerformance, modelPerformance, type TimeDependentModelName } from './model-performance.ts';
import type { ResamplingOptions } from './resampling.ts';
import { checkedResampling } from './resampling.ts';
import { runTrend } from './run-trend.ts';
import type { SpecificationLimits } from './specification.ts';
import { spreadAndShapeTests } from './spread-and-shape-tests.ts';

export interface TimeDependentModelOptions extends ResamplingOptions {
  /** A test rarer than this by chance is believed. Default 0.01. */
  readonly significance?: number;
  /** Shape for models that need a fitted one; default: what rankDistributions recommends for `physics`. */
  readonly distribution?: DistributionName;
  /** What is known of how the characteristic comes about. Default 'unknown'. */
  readonly physics?: Physics;
}

/** One test, and what it was for. */
export interface ModelTest {
  readonly question:
    | 'spread constant'
    | 'instantaneous distribution normal'
    | 'location constant'
    | 'location systematic'
    | 'location random'
    | 'levels normal';
  readonly method: string;
  readonly pValue: number;
  /** The answer to the question, at the significance. */
  readonly answer: boolean;
}

export interface TimeDependentModel {
  readonly model: TimeDependentModelName;
  readonly sampleSize: number;
  readonly subgroupsUsed: number;
  /** null: could not be tested (subgroups of two whose spread changes). */
  readonly instantaneousDistributionNormal: boolean | null;
  readonly location: 'constant' | 'random' | 'systematic' | 'systematic and random';
  readonly spread: 'constant' | 'not constant';
  readonly tests: readonly ModelTest[];
  readonly significance: number;
  /** Location and spread stay where they are: only then is a capability index in place. */
  readonly stable: boolean;
  readonly sentence: string;
  /** By the method that the model calls for; null without a specification. */
  readonly performance: Outcome<ModelPerformance> | null;
}

/**
 * How does the process move in time? Classifies it into the time-dependent distribution models of ISO 22514-2 and gives
 * the performance by the method that the model calls for.
 *
 * Instantaneous distribution, spread and location are tested: shape of the readings about their subgroup mean by
 * Anderson-Darling against simulated normal subgroups; spread by the variances of the subgroups, against normal
 * subgroups or, where the shape is not normal, by permutation; location by the analysis of variance, then the order of the means by von Neumann's ratio and their slope, and what the
 * smooth movement leaves over by the mean square successive difference.
 *
 * - A1, A2: nothing moves; the readings are normal (A1) or not (A2).
 * - B: the spread changes, the location does not.
 * - C1, C2: the location moves at random, its levels are normal (C1) or not (C2).
 * - C3, C4: the location moves systematically (C3, as with wear), or systematically and at random (C4, as with lots).
 * - D: both move.
 *
 * About 0.2 s for 25 subgroups of 5, and the performance on top. Of 60 simulated processes of each model, 25 subgroups of 5
 * with clear movement, 54 to 60 were recognised; of A2 with exponential readings 46, the others passing for B. With few
 * subgroups a model is only not contradicted, never proved.
 *
 * @param subgroups      in time order, at least 10 of at least two readings; at most 20 000 readings.
 * @param specification  null: classify only.
 * @returns              Unavailable `too-few-values`, `no-variation`, `outside-method`.
 * @throws               StatisticsError `empty`, `not-finite`, `out-of-range`, `unknown-name`, and as from capability.
 *
 * Source: ISO 22514-2, time-dependent distribution models (cited from memory); which test decides is left open there.
 *
 * @example
 * const subgroups = Array.from({ length: 25 }, (_, k) => [1, 2, 3, 4, 5].map((i) => 0.05 * k + Math.sin(k * 7 + i * i)));
 * timeDependentModel(subgroups, null);
 * // available, sampleSize 125, location "constant", tests.0.question "spread constant"
 */
export function timeDependentModel(
  subgroups: readonly Subgroup[],
  specification: SpecificationLimits | null,
  options: TimeDependentModelOptions = {},
): Outcome<TimeDependentModel> {
  const { significance = 0.01 } = options;
  requireFraction(significance, 'options.significance');
  const { seed } = checkedResampling(options, 500);
  if (options.distribution !== undefined)
    requireName(options.distribution, distributionNames, 'options.distribution');
  if (subgroups.length === 0)
    throw new StatisticsError('empty', 'subgroups', subgroups, 'At least ten subgroups are needed.');
  subgroups.forEach((subgroup, place) => {
    subgroup.forEach((reading, position) => {
      if (reading !== null) requireFinite(reading, `subgroups.${place}.${position}`);
    });
  });
  const used = subgroups
    .map((subgroup) => subgroup.filter((reading) => reading !== null))
    .filter((readings) => readings.length >= 2);
  const readings = used.flat();
  if (used.length < 10)
    return {
      available: false,
      reason: 'too-few-values',
      message: `A model needs at least 10 subgroups of two or more readings, better 25 of five; there ${used.length === 1 ? 'is 1' : `are ${used.length}`}.`,
    };
  if (readings.length > 20_000)
    return {
      available: false,
      reason: 'outside-method',
      message: 'Above 20000 readings every small movement becomes significant. Take a part of the period.',
    };
  const groups = used.map((group): GroupMoments => {
    const { size, mean, standardDeviation } = subgroupStatistics(group);
    return { size, mean: mean!, standardDeviation: standardDeviation! };
  });
  const overall = subgroupStatistics(readings);
  const analysis = equalMeans(groups);
  if (!(analysis.withinMeanSquare > (1e-13 * Math.abs(overall.mean!)) ** 2))
    return {
      available: false,
      reason: 'no-variation',
      message:
        'The readings inside the subgroups are all equal. Check that the gauge resolves the variation.',
    };

  const tests: ModelTest[] = [];
  const ask = (question: ModelTest['question'], method: string, pValue: number, yesWhenRare: boolean) => {
    const answer = pValue < significance === yesWhenRare;
    tests.push({ question, method, pValue, answer });
    return answer;
  };
  const { spreadPValue, spreadMethod, shapePValue } = spreadAndShapeTests(used, seed, significance);
  const isSpreadConstant = ask('spread constant', spreadMethod, spreadPValue, false);
  const isNormal =
    shapePValue === null
      ? null
      : ask('instantaneous distribution normal', 'Anderson-Darling, simulated', shapePValue, false);
  const isLocationConstant = ask('location constant', 'analysis of variance', analysis.pValue, false);
  let location: TimeDependentModel['location'] = 'constant';
  let areLevelsNormal = true;
  if (!isLocationConstant) {
    const means = groups.map(({ mean }) => mean);
    const { slopePValue, neighboursPValue } = runTrend(means);
    const systematic = ask(
      'location systematic',
      'slope and von Neumann ratio of the means',
      Math.min(1, 2 * Math.min(slopePValue, neighboursPValue)),
      true,
    );
    const random = systematic
      ? ask('location random', 'mean square successive difference', leftOver(groups, analysis), true)
      : true;
    location = systematic ? (random ? 'systematic and random' : 'systematic') : 'random';
    if (location === 'random') {
      const shape = andersonDarling(means);
      areLevelsNormal = shape.available
        ? ask('levels normal', 'Anderson-Darling of the means', shape.pValue, false)
        : true;
    }
  }
  const model = modelOf(isSpreadConstant, isNormal !== false, location, areLevelsNormal);
  const found = {
    model,
    sampleSize: readings.length,
    subgroupsUsed: used.length,
    instantaneousDistributionNormal: isNormal,
    location,
    spread: isSpreadConstant ? ('constant' as const) : ('not constant' as const),
    tests,
    significance,
    stable: model === 'A1' || model === 'A2',
    sentence: sentences[model],
  };
  return {
    available: true,
    ...found,
    performance:
      specification === null ? null : modelPerformance(model, used, groups, analysis, specification, options),
  };
}

/** Chance of such steps between neighbouring means if only a smooth movement and the readings explain them. */
function leftOver(groups: readonly GroupMoments[], analysis: ReturnType<typeof equalMeans>): number {
  const m = groups.length;
  const inverse = groups.reduce((sum, { size }) => sum + 1 / size, 0) / m;
  let squares = 0;
  for (let place = 1; place < m; place++) squares += (groups[place]!.mean - groups[place - 1]!.mean) ** 2;
  const stepVariance = squares / (2 * (m - 1));
  // Neighbouring differences share a mean, so they are worth fewer degrees of freedom.
  const freedom = (2 * (m - 1) ** 2) / (3 * m - 4);
  return fUpperTail(
    stepVariance / (analysis.withinMeanSquare * inverse),
    freedom,
    analysis.withinDegreesOfFreedom,
  );
}

function modelOf(
  isSpreadConstant: boolean,
  isNormal: boolean,
  location: TimeDependentModel['location'],
  areLevelsNormal: boolean,
): TimeDependentModelName {
  if (!isSpreadConstant) return location === 'constant' ? 'B' : 'D';
  if (location === 'constant') return isNormal ? 'A1' : 'A2';
  if (location === 'systematic') return 'C3';
  // Levels that move at random about readings that are not normal have no model of their own; C4 takes any shape.
  if (location === 'systematic and random' || !isNormal) return 'C4';
  return areLevelsNormal ? 'C1' : 'C2';
}

const sentences: Readonly<Record<TimeDependentModelName, string>> = {
  A1: 'Model A1: neither level nor spread moves, and the readings are normal. Capability may be quoted from them.',
  A2: 'Model A2: neither level nor spread moves, but the readings are not normal. Use the percentiles of a fitted distribution.',
  B: 'Model B: the level stays, the spread changes from subgroup to subgroup. Find out what changes it; an index describes this period only.',
  C1: 'Model C1: the level moves at random between subgroups, the spread stays. Quote performance over all readings, not the spread inside subgroups.',
  C2: 'Model C2: the level moves at random between a few or lopsided levels, the spread stays. Performance comes from the mixture of the levels.',
  C3: 'Model C3: the level moves systematically, as with wear or warming up, the spread stays. Correct the drift; an index describes this period only.',
  C4: 'Model C4: the level moves systematically and at random, as from lot to lot. Find what moves it; an index describes this period only.',
  D: 'Model D: level and spread both move. Bring the process under control before any index; one given here describes this period only.',
};
