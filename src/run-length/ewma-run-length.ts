import { requireBetween, requireName } from '../checks.ts';
import type { Unavailable } from '../errors.ts';
import { normalUpperTail } from '../numerics/normal.ts';
import { gaussLegendreRule } from '../numerics/quadrature.ts';
import { type DenseChain, denseWalk, type FirstSample } from './dense-walk.ts';
import { processOf, type RunLengthOptions, type RunLengthOutcome } from './run-length.ts';
import { hazardsOf, runLengthOf, settle, type Walk } from './run-length-of-walk.ts';

/** An EWMA chart started at its target, in standard deviations of the plotted value. */
export interface EwmaRunLengthSettings {
  /** Smoothing parameter λ, 0.01 … 1. Default 0.2. */
  readonly smoothing?: number;
  /** Standard deviations of the average between center line and limit, 0.1 … 10. Default 3. */
  readonly multiple?: number;
  /** As in ewmaChart. Default 'time-varying'. */
  readonly limits?: 'time-varying' | 'asymptotic';
}

/**
 * Run length of a two-sided EWMA chart: how long until a false alarm in control, how long until a shift is found.
 *
 * The density of the average is carried from sample to sample on Gauss-Legendre nodes (for limits that still move, on
 * nodes that move with them) until the share that signals has settled; that solves the integral equation and gives
 * the whole distribution.
 *
 * @param settings  smoothing, multiple, kind of limits.
 * @param options   shift, ratio of standard deviations, start, probabilities.
 * @returns         samples, dimensionless. Relative error below 1e-8. Unavailable `not-reachable` where the chart
 *                  practically never signals, `outside-method` where the standard deviation ratio is so small against
 *                  the limits that the equation would need too many nodes.
 * @throws          StatisticsError `not-finite`, `out-of-range`, `unknown-name`.
 *
 * Source: Crowder, Technometrics 29(4), 1987 (integral equation); Lucas and Saccucci, Technometrics 32(1), 1990.
 *
 * @example
 * ewmaRunLength({ smoothing: 0.1, multiple: 2.814, limits: 'asymptotic' }, { shift: 1 });
 * // available, averageRunLength 10.330…, standardDeviation 4.754…, median 9
 */
export function ewmaRunLength(
  settings: EwmaRunLengthSettings = {},
  options: RunLengthOptions = {},
): RunLengthOutcome {
  return integralOfEwma(settings, options, false);
}

/** The same, or roughly, to three or four digits, in a fifth of the time: for a search. */
export function integralOfEwma(
  settings: EwmaRunLengthSettings,
  options: RunLengthOptions,
  rough: boolean,
): RunLengthOutcome {
  const { smoothing = 0.2, multiple = 3, limits = 'time-varying' } = settings;
  requireBetween(smoothing, 0.01, 1, 'settings.smoothing');
  requireBetween(multiple, 0.1, 10, 'settings.multiple');
  requireName(limits, ['time-varying', 'asymptotic'], 'settings.limits');
  const { shift, standardDeviationRatio, start, probabilities } = processOf(options, 'options');
  const widest = multiple * Math.sqrt(smoothing / (2 - smoothing));
  if ((2 * widest) / (smoothing * standardDeviationRatio) > 160) return tooNarrow;

  const process: Process = {
    smoothing,
    shift: smoothing * shift,
    deviation: smoothing * standardDeviationRatio,
  };
  // In control both signs of the average are equally likely, and half of the nodes are enough.
  const folded = shift === 0 && start === 'zero-state';
  const rule = ruleFor(widest, process, folded, rough);
  const chain = chainBetween(rule, widest, process);
  const masses = new Float64Array(chain.size);
  let walk: Walk;
  if (start === 'steady-state') {
    const inControl: Process = { smoothing, shift: 0, deviation: smoothing };
    const calmRule = ruleFor(widest, inControl, false, rough);
    const calm = chainBetween(calmRule, widest, inControl);
    const settled = new Float64Array(calm.size);
    settle(denseWalk(calm, settled, fromTarget(calmRule, widest, inControl)), 1);
    walk = denseWalk(chain, masses, afterSettled(calmRule, settled, rule, widest, process));
  } else if (limits === 'asymptotic') walk = denseWalk(chain, masses, fromTarget(rule, widest, process));
  else walk = movingLimitsWalk(rule, multiple, chain, masses, process, rough ? 1e-4 : 1e-8);
  const memory = limits === 'time-varying' ? Math.ceil(5 / smoothing) : 1;
  return runLengthOf(hazardsOf(walk, memory, rough ? 1e-6 : 1e-12), probabilities, 'integral equation');
}

const tooNarrow: Unavailable = {
  available: false,
  reason: 'outside-method',
  message:
    'The limits lie too many process standard deviations apart for the integral equation. Choose a larger ratio of standard deviations, a larger smoothing parameter or a smaller multiple.',
};

/** One step of the average: from x to (1 − λ)x + shift, give or take the deviation. */
interface Process {
  readonly smoothing: number;
  readonly shift: number;
  readonly deviation: number;
}

interface Rule {
  readonly nodes: readonly number[];
  readonly weights: readonly number[];
  /** Nodes above 0 stand for both signs. */
  readonly folded: boolean;
}

function ruleFor(widest: number, { deviation }: Process, folded: boolean, rough: boolean): Rule {
  const deviations = (2 * widest) / deviation;
  const half = Math.ceil(rough ? 4 + 0.6 * deviations : 6 + deviations);
  const { nodes, weights } = gaussLegendreRule(2 * half, -1, 1);
  return folded
    ? { nodes: nodes.slice(half), weights: weights.slice(half), folded }
    : { nodes, weights, folded };
}

/** Masses on the nodes between ±width one step after the average stood at `from`; returns the chance to be outside. */
function stepFrom(
  from: number,
  rule: Rule,
  width: number,
  process: Process,
  masses: Float64Array,
  share: number,
): number {
  const centre = (1 - process.smoothing) * from + process.shift;
  const height = (share * width) / (process.deviation * Math.sqrt(2 * Math.PI));
  for (let node = 0; node < masses.length; node++) {
    const z = (width * rule.nodes[node]! - centre) / process.deviation;
    // Beyond nine deviations a share is below the last digit of the rest.
    if (z < 9 && z > -9) masses[node] = masses[node]! + height * rule.weights[node]! * Math.exp((-z * z) / 2);
    if (!rule.folded) continue;
    const other = (width * rule.nodes[node]! + centre) / process.deviation;
    if (other < 9 && other > -9)
      masses[node] = masses[node]! + height * rule.weights[node]! * Math.exp((-other * other) / 2);
  }
  return outside(centre, width, process);
}

function outside(centre: number, width: number, { deviation }: Process): number {
  return normalUpperTail((width - centre) / deviation) + normalUpperTail((width + centre) / deviation);
}

function fromTarget(rule: Rule, width: number, process: Process): FirstSample {
  const masses = new Float64Array(rule.nodes.length);
  return { exit: stepFrom(0, rule, width, process, masses, 1), masses };
}

function chainBetween(rule: Rule, width: number, process: Process): DenseChain {
  const size = rule.nodes.length;
  const transition = new Float64Array(size * size);
  const exit = new Float64Array(size);
  const column = new Float64Array(size);
  for (let from = 0; from < size; from++) {
    column.fill(0);
    exit[from] = stepFrom(width * rule.nodes[from]!, rule, width, process, column, 1);
    for (let to = 0; to < size; to++) transition[to * size + from] = column[to]!;
  }
  return { size, transition, exit };
}

/** The first sample of the changed process after the chart has settled in control. */
function afterSettled(
  before: Rule,
  settled: Float64Array,
  rule: Rule,
  width: number,
  process: Process,
): FirstSample {
  const masses = new Float64Array(rule.nodes.length);
  let exit = 0;
  for (let node = 0; node < settled.length; node++)
    exit +=
      settled[node]! * stepFrom(width * before.nodes[node]!, rule, width, process, masses, settled[node]!);
  return { exit, masses };
}

/** Limits that widen from sample to sample, until they stand where `settled` has them. */
function movingLimitsWalk(
  rule: Rule,
  multiple: number,
  settled: DenseChain,
  masses: Float64Array,
  process: Process,
  settledBelow: number,
): Walk {
  const { smoothing } = process;
  const kept = (1 - smoothing) ** 2;
  const size = settled.size;
  const next = new Float64Array(size);
  const finalWidth = multiple * Math.sqrt(smoothing / (2 - smoothing));
  const then = denseWalk(settled, masses, null);
  let remaining = 1;
  let before = 0;
  return () => {
    remaining *= kept;
    if (remaining < settledBelow && before > 0) return then();
    const width = finalWidth * Math.sqrt(1 - remaining);
    let hazard = 0;
    next.fill(0);
    if (before === 0) hazard = stepFrom(0, rule, width, process, next, 1);
    else
      for (let from = 0; from < size; from++)
        hazard +=
          masses[from]! * stepFrom(before * rule.nodes[from]!, rule, width, process, next, masses[from]!);
    before = width;
    let total = 0;
    for (let node = 0; node < size; node++) total += next[node]!;
    if (total === 0) return 1;
    for (let node = 0; node < size; node++) masses[node] = next[node]! / total;
    return hazard;
  };
}
