import { requireFiniteValues, requireName } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { akaikeCorrected } from './akaike-corrected.ts';
import { fitDistribution } from './fit-distribution.ts';
import type { DistributionName, FittedDistribution } from './fitted-distribution.ts';
import { type Physics, type PhysicsKnowledge, physicsKnowledge } from './physics.ts';
import { tailSentence } from './tail-sentence.ts';

export interface RankDistributionsOptions {
  /**
   * How the characteristic comes about. 'bounded-at-zero': runout, flatness, burr; 'position': distance of a hole from
   * its true place; 'wear': a level that moves between tool changes; 'two-sided': width, bore, offset; 'unknown'.
   */
  readonly physics: Physics;
}

export interface DistributionRanking {
  readonly physics: Physics;
  readonly sampleSize: number;
  /** Shapes that the physics allows, the best score first; those that could not be fitted last. */
  readonly candidates: readonly DistributionCandidate[];
  /** null where no single distribution serves. */
  readonly recommended: DistributionName | null;
  /** Why this one, and how far to trust it. */
  readonly message: string;
}

export interface DistributionCandidate {
  readonly distribution: DistributionName;
  readonly fit: Outcome<FittedDistribution>;
  /** AICc; null without a fit or with hardly more values than parameters. Smaller is better. */
  readonly akaikeCorrected: number | null;
  /** AICc above that of the best candidate. */
  readonly difference: number | null;
  /** What the shape stands for, and how it compares. */
  readonly message: string;
}

/** Below this the score cannot tell shapes apart, so the physics decides alone. Common practice, no source. */
const fewestForScore = 20;

/**
 * Which distribution for this characteristic? Starts from what is known about how it comes about, not from the score:
 * only shapes that the physics allows are fitted, and a more natural shape is kept unless another one is clearly better.
 * The answer says what the sample size leaves open.
 *
 * A distribution describes a stable process. Look at the control chart first.
 *
 * @param values   finite numbers in one unit.
 * @param options  the physics.
 * @returns        candidates with fit, AICc and a sentence each, and a recommendation or none.
 * @throws         StatisticsError `empty`, `not-finite`, `unknown-name`, naming the field.
 *
 * Source: ISO 22514-2 for the distributions; C. M. Hurvich and C.-L. Tsai, Biometrika 76(2), 1989, for AICc (cited from
 * memory). Which shape belongs to which physics: common practice, no source.
 *
 * @example
 * rankDistributions([0.05, 0.09, 0.03, 0.07, 0.06, 0.11], { physics: 'position' });
 * // recommended "rayleigh", sampleSize 6, candidates[0].fit.available true
 */
export function rankDistributions(
  values: ArrayLike<number>,
  { physics }: RankDistributionsOptions,
): DistributionRanking {
  requireName(physics, Object.keys(physicsKnowledge) as Physics[], 'options.physics');
  requireFiniteValues(values, 'values');
  const knowledge = physicsKnowledge[physics];
  const sampleSize = values.length;
  const fits = knowledge.shapes.map(([distribution, why]) => {
    const fit = fitIfHeld(values, distribution);
    return { distribution, why, fit, akaikeCorrected: fit.available ? akaikeCorrected(fit) : null };
  });
  const best = Math.min(...fits.map((one) => one.akaikeCorrected ?? Infinity));
  const candidates = fits
    .map(({ why, ...one }): DistributionCandidate => {
      const difference = one.akaikeCorrected === null ? null : one.akaikeCorrected - best;
      return { ...one, difference, message: `${why} ${comparison(one.fit, difference)}` };
    })
    .sort((a, b) => (a.difference ?? Infinity) - (b.difference ?? Infinity) || 0);
  const recommended = choose(fits, knowledge, best, sampleSize);
  return {
    physics,
    sampleSize,
    candidates,
    recommended,
    message: sentence(physics, knowledge, recommended, candidates, sampleSize),
  };
}

interface Scored {
  readonly distribution: DistributionName;
  readonly fit: Outcome<FittedDistribution>;
  readonly akaikeCorrected: number | null;
}

/** A distribution that cannot hold one of the values is no candidate, rather than an error of the caller. */
function fitIfHeld(values: ArrayLike<number>, distribution: DistributionName): Outcome<FittedDistribution> {
  try {
    return fitDistribution<DistributionName>(values, { distribution });
  } catch (error) {
    if (!(error instanceof StatisticsError) || error.code !== 'out-of-range') throw error;
    return { available: false, reason: 'outside-method', message: error.message };
  }
}

function comparison(fit: Outcome<FittedDistribution>, difference: number | null): string {
  if (!fit.available) return `Not fitted: ${fit.message}`;
  if (difference === null) return 'Too few values to score it.';
  if (difference === 0) return 'The best score of those allowed.';
  const distance = difference.toPrecision(2);
  if (difference < 2) return `The values cannot tell it from the best (AICc ${distance} above).`;
  if (difference < 10) return `Its score is somewhat worse (AICc ${distance} above the best).`;
  return `Its score is clearly worse (AICc ${distance} above the best).`;
}

/** The most natural shape whose score is near enough to the best one. */
function choose(
  fits: readonly Scored[],
  { preference }: PhysicsKnowledge,
  best: number,
  sampleSize: number,
): DistributionName | null {
  const natural = fits.find(
    ({ fit, akaikeCorrected }) =>
      fit.available &&
      (sampleSize < fewestForScore || (akaikeCorrected !== null && akaikeCorrected - best < preference)),
  );
  return natural?.distribution ?? null;
}

function sentence(
  physics: Physics,
  knowledge: PhysicsKnowledge,
  recommended: DistributionName | null,
  candidates: readonly DistributionCandidate[],
  sampleSize: number,
): string {
  if (physics === 'wear') return knowledge.sentence;
  if (recommended === null)
    return `${knowledge.sentence} None of these shapes can be fitted: see the reason with each candidate.`;
  const parts = [knowledge.sentence];
  if (sampleSize < fewestForScore)
    parts.push(
      `${sampleSize} values cannot choose a shape: ${recommended} is the most natural one, chosen by physics alone.`,
    );
  else if (physics === 'position' && recommended !== 'rayleigh')
    parts.push(
      `The values contradict the Rayleigh distribution: the holes lie off centre or scatter more in one direction. Look at x and y (bivariate position) before using ${recommended}.`,
    );
  else {
    const rivals = candidates
      .filter(
        ({ distribution, difference }) =>
          distribution !== recommended && difference !== null && difference < 2,
      )
      .map(({ distribution }) => distribution);
    parts.push(
      rivals.length === 0
        ? `${recommended} describes the values best among them.`
        : `${recommended} is the most natural shape; the values cannot tell it from ${rivals.join(', ')}. Compare their outer percentiles before quoting one.`,
    );
  }
  parts.push(tailSentence(sampleSize));
  return parts.join(' ');
}
