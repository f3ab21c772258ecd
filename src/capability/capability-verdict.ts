import { requireBetween, requireFinite, requireName } from '../checks.ts';
import type { AndersonDarling } from '../distribution-fit/anderson-darling.ts';
import type { Outcome } from '../errors.ts';
import { normalQuantile } from '../numerics/normal.ts';
import type { Capability, CapabilityIndex } from './capability.ts';
import { roundedDown, roundedUp } from './rounded-bound.ts';
import { type Doubt, requireStability, type Stability, stabilityDoubt } from './stability.ts';

export interface CapabilityVerdictInput {
  readonly capability: Outcome<Capability>;
  readonly normality: Outcome<AndersonDarling>;
  /** null: not assessed, for want of control limits. */
  readonly stability: Stability | null;
  /**
   * Why the control chart in use cannot tell a stable process from one that is not, as a sentence for people. The
   * signals and points of `stability` then count neither for nor against the process. Default null: it can.
   */
  readonly chartCannotJudge?: string | null;
}

export interface CapabilityVerdictOptions {
  /** Default 1.33. */
  readonly requiredIndex?: number;
  /** 'ppk' where the level moves between subgroups with nothing wrong, so that Cpk would flatter. Default 'cpk'. */
  readonly index?: 'cpk' | 'ppk';
  /** Readings below which no index is quoted. Default 30, the least of a machine study (ISO 22514-3). */
  readonly fewestReadings?: number;
  /** Charted points below which stability counts as not shown. Default 20. */
  readonly fewestPoints?: number;
  /** A shape or a count of signals rarer than this by chance is not taken for chance. Default 0.01. */
  readonly significance?: number;
}

export interface CapabilityVerdict {
  readonly level: 'capable' | 'not-proven' | 'not-capable' | 'not-to-be-quoted';
  readonly requiredIndex: number;
  /** The index that was judged, with its bounds; null where it may not be quoted. */
  readonly index: CapabilityIndex | null;
  readonly reasons: readonly Doubt<
    'no-index' | 'unstable' | 'stability-unknown' | 'stability-not-judged' | 'too-few' | 'not-normal'
  >[];
  readonly sentence: string;
  readonly nextStep: string;
}

/**
 * May an index be quoted, and does it prove the process good enough? An unstable process has no capability, a
 * handful of readings no certainty, and the normal formula no meaning for values that are not normal. Where it may
 * be quoted the bound decides, not the estimate: capable when the lower confidence bound reaches the required
 * index, not capable when the upper one stays below it, and not proven in between.
 *
 * @throws StatisticsError `out-of-range`, `not-finite`, `unknown-name`, naming the field.
 *
 * Source: ISO 22514-1, ISO 22514-2 (capability of a process in statistical control); the thresholds are house
 * rules and can be changed.
 *
 * @example
 * capabilityVerdict({
 *   capability: capability([[12.01, 11.99], [12.0, 12.02], [11.98, 12.0]],
 *     { lowerSpecificationLimit: 11.92, upperSpecificationLimit: 12.08 }, { method: 'pooled' }),
 *   normality: andersonDarling([12.01, 11.99, 12.0, 12.02, 11.98, 12.0]),
 *   stability: { points: 3, signals: 0, expectedFalseSignals: 0.01 },
 * });
 * // level 'not-to-be-quoted', reasons[0].reason 'stability-unknown', reasons[1].reason 'too-few'
 */
export function capabilityVerdict(
  { capability, normality, stability, chartCannotJudge = null }: CapabilityVerdictInput,
  options: CapabilityVerdictOptions = {},
): CapabilityVerdict {
  const {
    requiredIndex = 1.33,
    index: chosen = 'cpk',
    fewestReadings = 30,
    fewestPoints = 20,
    significance = 0.01,
  } = options;
  requireName(chosen, ['cpk', 'ppk'], 'options.index');
  check(
    { requiredIndex, fewestReadings, fewestPoints, significance },
    stability,
    capability.available ? capability[chosen] : null,
  );

  const reasons: CapabilityVerdict['reasons'][number][] = [];
  if (!capability.available) reasons.push({ reason: 'no-index', sentence: capability.message });
  if (chartCannotJudge !== null)
    reasons.push({
      reason: 'stability-not-judged',
      sentence: `This chart cannot judge whether the process is stable. ${chartCannotJudge}`,
    });
  else {
    const doubt = stabilityDoubt(stability, fewestPoints, significance);
    if (doubt !== null) reasons.push(doubt);
  }
  if (capability.available && capability.sampleSize < fewestReadings)
    reasons.push({
      reason: 'too-few',
      sentence: `There are ${capability.sampleSize} readings; below ${fewestReadings} no index is quoted.`,
    });
  if (!normality.available) {
    // Too few and no variation are said already.
    if (capability.available && capability.sampleSize >= fewestReadings)
      reasons.push({ reason: 'not-normal', sentence: normality.message });
  } else if (normality.pValue < significance)
    reasons.push({
      reason: 'not-normal',
      sentence: `The values are not normally distributed (Anderson-Darling A* = ${normality.adjustedStatistic.toFixed(2)}, ${chance(normality.pValue)}).`,
    });

  if (!capability.available || reasons.length > 0)
    return {
      level: 'not-to-be-quoted',
      requiredIndex,
      index: null,
      reasons,
      sentence: `No index may be quoted. ${reasons.map(({ sentence }) => sentence).join(' ')}`,
      nextStep: nextStepToAnIndex(reasons.map(({ reason }) => reason)),
    };

  const index = capability[chosen];
  const name = chosen === 'cpk' ? 'Cpk' : 'Ppk';
  const confidence = `${Number((100 * index.confidence).toFixed(2))} % confidence`;
  const observed = `${name} ${index.estimate.toFixed(2)} from ${index.sampleSize} readings`;
  const bounds = `(${index.method}; ${requiredIndex.toFixed(2)} is required)`;
  const verdict = { requiredIndex, index, reasons };
  if (index.lowerBound >= requiredIndex)
    return {
      ...verdict,
      level: 'capable',
      sentence: `Capable: ${observed}, with ${confidence} at least ${roundedDown(index.lowerBound)} ${bounds}.`,
      nextStep: 'Keep the control chart running; the index holds only while the process stays as it is.',
    };
  if (index.upperBound < requiredIndex)
    return {
      ...verdict,
      level: 'not-capable',
      sentence: `Not capable: ${observed}, with ${confidence} at most ${roundedUp(index.upperBound)} ${bounds}.`,
      nextStep: nextStepToCapability(capability, chosen, requiredIndex),
    };
  return {
    ...verdict,
    level: 'not-proven',
    sentence: `Not proven: ${observed}, with ${confidence} each at least ${roundedDown(index.lowerBound)} and at most ${roundedUp(index.upperBound)} ${bounds}.`,
    nextStep: nextStepToProof(index, requiredIndex),
  };
}

function nextStepToAnIndex(reasons: readonly string[]): string {
  if (reasons.includes('no-index')) return 'Put right what is named above, then look again.';
  if (reasons.includes('stability-not-judged'))
    return 'Judge the parts by the specification, and every point that stands far from the others together with what happened at the line; quote an index only from a chart that suits this process.';
  if (reasons.includes('unstable'))
    return 'Find the cause of the signals and remove it, then collect new readings; until then judge parts, not the process.';
  if (reasons.includes('stability-unknown'))
    return 'Collect at least 20 to 25 samples and freeze control limits from them.';
  if (reasons.includes('too-few')) return 'Collect more readings of the unchanged process.';
  return 'Look at the distribution: mixed streams, a coarse gauge or a natural bound often explain the shape. Until a fitting distribution is used, count the parts outside.';
}

function nextStepToCapability(capability: Capability, chosen: 'cpk' | 'ppk', requiredIndex: number): string {
  const tolerance = chosen === 'cpk' ? capability.cp : capability.pp;
  const contain = 'Until then inspect every part that must be right.';
  return tolerance !== null && tolerance.lowerBound >= requiredIndex
    ? `Move the mean towards the middle of the tolerance: the spread is small enough. ${contain}`
    : `Reduce the spread, or have the tolerance looked at; moving the mean is not enough. ${contain}`;
}

/** Bissell's variance is proportional to 1/n but for ν, so the n that proves an unchanged estimate follows directly. */
function nextStepToProof(index: CapabilityIndex, requiredIndex: number): string {
  const margin = index.estimate - requiredIndex;
  const quantile = normalQuantile(index.confidence);
  const needed = Math.ceil((quantile / margin) ** 2 * (1 / 9 + index.estimate ** 2 / 2));
  return margin > 0 && needed <= 100_000
    ? `Collect more readings: about ${Math.max(needed, index.sampleSize + 1)} in all would prove it, if the index stays what it is.`
    : 'More readings alone will not prove it: reduce the spread or centre the process, then measure anew.';
}

const chance = (p: number) => (p < 0.0001 ? 'p < 0.0001' : `p = ${p.toFixed(4)}`);
function check(
  options: Record<string, number>,
  stability: Stability | null,
  index: CapabilityIndex | null,
): void {
  for (const [name, value] of Object.entries(options)) requireBetween(value, 0, 1e9, `options.${name}`);
  requireStability(stability, 'input.stability');
  if (index !== null)
    for (const name of ['estimate', 'lowerBound', 'upperBound'] as const)
      requireFinite(index[name], `input.capability.${name}`);
}
