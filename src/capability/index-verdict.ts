import { requireBetween } from '../checks.ts';
import { roundedDown, roundedUp } from './rounded-bound.ts';
import { type Doubt, requireStability, type Stability, stabilityDoubt } from './stability.ts';

/** What a verdict needs besides the index. */
export interface VerdictOptions {
  /** Default 1.33. */
  readonly requiredIndex?: number;
  /** What the control chart showed over the same values. Default null: not assessed, and no verdict then. */
  readonly stability?: Stability | null;
}

/** Does the bound, not the estimate, reach what is required, and may anybody say so? */
export interface IndexVerdict {
  readonly level: 'proven' | 'not-proven' | 'disproven' | 'not-to-be-quoted';
  readonly requiredIndex: number;
  /** Why there is no verdict; empty where there is one. */
  readonly doubts: readonly Doubt[];
  readonly sentence: string;
  readonly nextStep: string;
}

interface JudgedIndex {
  /** null: too good to be estimated from these values. */
  readonly estimate: number | null;
  readonly sampleSize: number;
  readonly method: string;
  readonly confidence: number;
  readonly lowerBound: number;
  readonly upperBound: number | null;
}

/** How the verdict speaks of what was measured, and what makes it better. */
export interface VerdictWords {
  readonly counted: string;
  readonly improve: string;
}

const ofValues: VerdictWords = {
  counted: 'values',
  improve: 'reduce the spread or move the middle of the values',
};

const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);

const steps: Readonly<Record<string, string>> = {
  unstable:
    'Find the cause of the signals and remove it, then collect new values; until then judge parts, not the process.',
  'stability-unknown': 'Collect at least 20 to 25 samples, freeze control limits from them, and look again.',
  'too-few': 'Measure more parts.',
  'not-normal':
    'Name the distribution that the physics of the characteristic suggests, and use the percentiles of its fit.',
  trend: 'Find out what changes while the parts are made, put it right, and repeat the run.',
};

/** The verdict on one index. Where there is any doubt there is none, and the doubts are said. */
export function indexVerdict(
  name: string,
  index: JudgedIndex,
  requiredIndex: number,
  doubts: readonly Doubt[],
  { counted, improve } = ofValues,
): IndexVerdict {
  const verdict = { requiredIndex, doubts };
  if (doubts.length > 0)
    return {
      ...verdict,
      level: 'not-to-be-quoted',
      sentence: `No verdict on ${name}. ${doubts.map(({ sentence }) => sentence).join(' ')}`,
      nextStep: steps[doubts[0]!.reason] ?? 'Put right what is named, then look again.',
    };
  const { estimate, sampleSize, confidence, method, lowerBound, upperBound } = index;
  const percent = `${Number((100 * confidence).toFixed(2))} % confidence`;
  const observed = `${name}${estimate === null ? '' : ` ${estimate.toFixed(2)}`} from ${sampleSize} ${counted}`;
  const basis = `(${method}; ${requiredIndex.toFixed(2)} is required)`;
  if (lowerBound >= requiredIndex)
    return {
      ...verdict,
      level: 'proven',
      sentence: `Proven: ${observed}, with ${percent} at least ${roundedDown(lowerBound)} ${basis}.`,
      nextStep: 'Keep the control chart running; the index holds only while the process stays as it is.',
    };
  if (upperBound !== null && upperBound < requiredIndex)
    return {
      ...verdict,
      level: 'disproven',
      sentence: `Not good enough: ${observed}, with ${percent} at most ${roundedUp(upperBound)} ${basis}.`,
      nextStep: `${capital(improve)}; until then inspect every part that must be right.`,
    };
  return {
    ...verdict,
    level: 'not-proven',
    sentence: `Not proven: ${observed}, with ${percent} at least ${roundedDown(lowerBound)}${upperBound === null ? '' : ` and at most ${roundedUp(upperBound)}`} ${basis}.`,
    nextStep:
      estimate === null || estimate > requiredIndex
        ? `Measure more parts: the ${counted} do not contradict the requirement, but they do not prove it.`
        : `More parts alone will not prove it: ${improve}.`,
  };
}

/** The checked options of a verdict, with what there is to doubt about stability. */
export function checkedVerdict(options: VerdictOptions): { requiredIndex: number; doubts: Doubt[] } {
  const { requiredIndex = 1.33, stability = null } = options;
  requireBetween(requiredIndex, 0, 1e6, 'options.requiredIndex');
  requireStability(stability, 'options.stability');
  const doubt = stabilityDoubt(stability);
  return { requiredIndex, doubts: doubt === null ? [] : [doubt] };
}
