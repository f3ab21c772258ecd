import { requireBetween, requireName, requirePositive } from '../checks.ts';
import type { Unavailable } from '../errors.ts';
import { denseWalk, type FirstSample } from './dense-walk.ts';
import { type OneSum, oneSum } from './one-sum.ts';
import { neverSignals, processOf, type RunLengthOptions, type RunLengthOutcome } from './run-length.ts';
import {
  type Hazards,
  hazardsOf,
  type Moments,
  momentsOf,
  runLengthOf,
  settle,
  type Walk,
} from './run-length-of-walk.ts';

/** A tabular CUSUM chart, in standard deviations of the plotted value. */
export interface CusumRunLengthSettings {
  /** Reference value k, 0 … 10. Default 0.5. */
  readonly referenceValue?: number;
  /** Decision interval h, above 0, at most 50. Default 5. */
  readonly decisionInterval?: number;
  /** Start of each sum as a fraction of the decision interval, 0 … 1. Default 0. */
  readonly headStart?: number;
  /** Which way a shift matters. Default 'both'. */
  readonly sides?: 'both' | 'upper' | 'lower';
}

/**
 * Run length of a tabular CUSUM chart: how long until a false alarm in control, how long until a shift is found.
 *
 * One side by its integral equation, with the atom at zero kept apart, on Gauss-Legendre nodes. Two sides follow from
 * one exactly: when one sum signals the other stands at zero, so the chart renews itself there.
 *
 * @param settings  reference value, decision interval, head start, sides.
 * @param options   shift, ratio of standard deviations, start, probabilities.
 * @returns         samples, dimensionless. Relative error below 1e-8 where the mean is below 10⁸. Unavailable
 *                  `not-reachable` where the chart practically never signals; `outside-method` for two sides in steady
 *                  state, for head starts of two sides that together exceed h + 2k, and for a standard deviation ratio
 *                  so small against h that the equation would need too many nodes.
 * @throws          StatisticsError `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: Page, Biometrika 41, 1954; Brook and Evans, Biometrika 59(3), 1972; van Dobben de Bruyn, Cumulative Sum Tests,
 * 1968; Lucas and Crosier, Technometrics 24(3), 1982 (head start).
 *
 * @example
 * cusumRunLength({ referenceValue: 0.5, decisionInterval: 5 }, { shift: 1 });
 * // available, averageRunLength 10.375…, standardDeviation 5.453…, median 9
 */
export function cusumRunLength(
  settings: CusumRunLengthSettings = {},
  options: RunLengthOptions = {},
): RunLengthOutcome {
  const { referenceValue, decisionInterval, headStart, sides } = cusumOf(settings, 'settings');
  const { shift, standardDeviationRatio, start, probabilities } = processOf(options, 'options');
  if (decisionInterval / standardDeviationRatio > 100) return tooNarrow;

  const sum = (centre: number, ratio = standardDeviationRatio) =>
    oneSum(referenceValue, decisionInterval, centre, ratio);
  const begin = headStart * decisionInterval;
  if (sides !== 'both') {
    const chain = sum(sides === 'upper' ? shift : -shift);
    const masses = new Float64Array(chain.size);
    if (start === 'zero-state')
      return runLengthOf(
        hazardsOf(denseWalk(chain, masses, chain.from(begin)), 1),
        probabilities,
        'integral equation',
      );
    const inControl = sum(0, 1);
    const settled = new Float64Array(inControl.size);
    settle(denseWalk(inControl, settled, inControl.from(0)), 1);
    return runLengthOf(
      hazardsOf(denseWalk(chain, masses, afterSettled(inControl, settled, chain)), 1),
      probabilities,
      'integral equation',
    );
  }
  if (start === 'steady-state') return bothSteady;
  if (2 * begin > decisionInterval + 2 * referenceValue) return headStartsTooHigh;

  const follow = (centre: number): Side | null => {
    const chain = sum(centre);
    const fresh = hazardsOf(denseWalk(chain, new Float64Array(chain.size), chain.from(0)), 1);
    const first =
      begin === 0 || fresh === null
        ? fresh
        : hazardsOf(denseWalk(chain, new Float64Array(chain.size), chain.from(begin)), 1);
    if (fresh === null || first === null) return null;
    return { fresh, first };
  };
  const upper = follow(shift);
  const lower = shift === 0 ? upper : follow(-shift);
  if (upper === null || lower === null) return neverSignals;
  const walk = jointWalk(upper, lower);
  const moments = jointMoments(upper, lower);
  if (moments === null)
    return runLengthOf(hazardsOf(walk, 1, 1e-9, 1e-13), probabilities, 'integral equation');
  // Followed for the quantiles only: without a reference value two sums hardly ever settle.
  const farthest = Math.min(0.9999, Math.max(0.5, ...probabilities));
  const hazards = hazardsOf(walk, 1, 1e-9, 1 - farthest);
  return runLengthOf(hazards, probabilities, 'integral equation', moments);
}

/** The settings with their defaults, checked. */
export function cusumOf(
  settings: CusumRunLengthSettings,
  argument: string,
): Required<CusumRunLengthSettings> {
  const { referenceValue = 0.5, decisionInterval = 5, headStart = 0, sides = 'both' } = settings;
  requireBetween(referenceValue, 0, 10, `${argument}.referenceValue`);
  requirePositive(decisionInterval, `${argument}.decisionInterval`);
  requireBetween(decisionInterval, 0, 50, `${argument}.decisionInterval`);
  requireBetween(headStart, 0, 1, `${argument}.headStart`);
  requireName(sides, ['both', 'upper', 'lower'], `${argument}.sides`);
  return { referenceValue, decisionInterval, headStart, sides };
}

const tooNarrow: Unavailable = {
  available: false,
  reason: 'outside-method',
  message:
    'The decision interval is more than 100 of the process standard deviations, too wide for the integral equation. Choose a smaller decision interval.',
};

const bothSteady: Unavailable = {
  available: false,
  reason: 'outside-method',
  message:
    'The steady state of two sums together is not offered. Ask for one side, or for the zero state of both.',
};

export const headStartsTooHigh: Unavailable = {
  available: false,
  reason: 'outside-method',
  message:
    'With head starts this high both sums could signal at once, which the method does not cover. Choose a head start of at most one half.',
};

/** The first sample of the changed process after the chart has settled in control. */
function afterSettled(before: OneSum, settled: Float64Array, changed: OneSum): FirstSample {
  const masses = new Float64Array(changed.size);
  let exit = 0;
  for (let node = 0; node < before.size; node++) {
    const share = settled[node]!;
    const first = changed.from(before.places[node]!);
    exit += share * first.exit;
    for (let to = 0; to < changed.size; to++) masses[to] = masses[to]! + share * first.masses[to]!;
  }
  return { exit, masses };
}

interface Side {
  /** From zero, and from the head start. */
  readonly fresh: Hazards;
  readonly first: Hazards;
}

/**
 * Both sides together. The side that signals first finds the other at zero, so a side's own run length is either the
 * joint one, or that followed by a new one from zero: f⁺ₛ = u + l ∗ f⁺₀ and f⁻ₛ = l + u ∗ f⁻₀, where u and l are the
 * chances that the upper or the lower side signals first at a sample.
 */
function jointWalk(upper: Side, lower: Side): Walk {
  const [upperFresh, upperFirst, lowerFresh, lowerFirst] = [
    upper.fresh,
    upper.first,
    lower.fresh,
    lower.first,
  ].map(signalsAt) as [SignalChances, SignalChances, SignalChances, SignalChances];
  // Chance that a side is the first to signal, at each sample.
  const byUpper: number[] = [];
  const byLower: number[] = [];
  let running = 1;
  return () => {
    // What is left of so little is rounding.
    if (running <= 1e-13) return 1;
    const t = byUpper.length;
    const freshUpper = upperFresh(t);
    const freshLower = lowerFresh(t);
    let viaLower = 0;
    let viaUpper = 0;
    for (let j = 0; j < t; j++) viaLower += byLower[j]! * freshUpper[t - j - 1]!;
    if (upper === lower) viaUpper = viaLower;
    else for (let j = 0; j < t; j++) viaUpper += byUpper[j]! * freshLower[t - j - 1]!;
    byUpper.push(Math.max(0, upperFirst(t + 1)[t]! - viaLower));
    byLower.push(Math.max(0, lowerFirst(t + 1)[t]! - viaUpper));
    const signals = byUpper[t]! + byLower[t]!;
    const hazard = signals / running;
    running -= signals;
    return hazard;
  };
}

/**
 * Mean and variance of both sides together, from those of each: the generating functions of the equations above, solved
 * for u + l and differentiated twice at 1. For one start at zero the mean is the one of Lucas and Crosier, 1982. null
 * where rounding would spoil it: with a head start on sides that differ much, of which the slow one hardly matters.
 */
function jointMoments(upper: Side, lower: Side): Moments | null {
  const [a, b, p, q] = [upper.fresh, lower.fresh, upper.first, lower.first].map(momentsOf);
  if (!a || !b || !p || !q) return null;
  const hasHeadStart = upper.first !== upper.fresh;
  if (hasHeadStart && !(a.mean < 10 * b.mean && b.mean < 10 * a.mean)) return null;
  const total = a.mean + b.mean;
  const [upperShare, lowerShare] = [a.mean / total, b.mean / total];
  const both = upperShare * b.mean;
  const [upperLead, lowerLead] = [p.mean - a.mean, q.mean - b.mean];
  const mean = both + lowerShare * upperLead + upperShare * lowerLead;
  const fresh = lowerShare * (lowerShare * a.variance) + upperShare * (upperShare * b.variance);
  const ahead =
    lowerShare * (p.variance - a.variance + upperLead ** 2) +
    upperShare * (q.variance - b.variance + lowerLead ** 2) +
    (upperLead + lowerLead) * both +
    ((upperLead - lowerLead) * (upperShare * b.variance - lowerShare * a.variance)) / total;
  return { mean, variance: Math.max(0, fresh + (hasHeadStart ? ahead : 0) - mean * mean) };
}

/** Chances that the signal comes at samples 1, 2 … `count`, at least so many. */
type SignalChances = (count: number) => readonly number[];

function signalsAt({ values, settled }: Hazards): SignalChances {
  const chances: number[] = [];
  let running = 1;
  return (count) => {
    for (let t = chances.length; t < count; t++) {
      const hazard = values[t] ?? settled;
      chances.push(running * hazard);
      running *= 1 - hazard;
    }
    return chances;
  };
}
