import type { Count, CountComparison } from './compare-count.ts';

/** What is known about a sample when it has been stored and evaluated. */
export interface SampleVerdictInput {
  /** Questions on values that nobody has answered yet; a value that a person confirmed is not among them. */
  readonly questions: readonly { readonly position: number; readonly sentence: string }[];
  /** Signals of the control charts at this sample. */
  readonly signals: readonly { readonly sentence: string }[];
  /** 0-based positions of the values outside the specification. */
  readonly outsideSpecification: readonly number[];
  /** false: the plan draws no control chart for this stream. */
  readonly charted: boolean;
  /** Control limits are in force for this stream and model. */
  readonly hasLimits: boolean;
  /** false: signals are drawn but call nobody; `remark` says why. */
  readonly raisesAlarms: boolean;
  readonly remark: string;
  /** Parts counted instead of measured; `comparison` is null where too few samples were taken before it. */
  readonly count: (Count & { readonly comparison: CountComparison | null }) | null;
}

export interface SampleVerdict {
  readonly level: 'fine' | 'measure-again' | 'call';
  /** false: no control chart looked at it, for want of a chart or of limits; "fine" would say too much. */
  readonly judged: boolean;
  /** What to do next, and why. */
  readonly sentence: string;
}

/**
 * What the person at the gauge does next. Two questions are kept apart: is the product good (values against the
 * specification) and has the process changed (signals against the control limits)? Both can be true or false.
 *
 * A value outside the specification that nobody doubts calls and segregates. Otherwise a value in doubt comes
 * before every signal: the same piece is measured again, because a signal that stands on a typo is none.
 *
 * @param input  what is known about the sample when it has been stored and evaluated.
 * @returns      the level, whether a chart looked at it, and the next step in words.
 * @throws       nothing; it only puts into order what other functions have found.
 *
 * Source: house rule; product before process, and a doubtful value before every signal.
 *
 * @example
 * sampleVerdict({ questions: [], signals: [], outsideSpecification: [1], charted: true, hasLimits: true,
 *   raisesAlarms: true, remark: '', count: null });
 * // level 'call', judged true
 */
export function sampleVerdict(input: SampleVerdictInput): SampleVerdict {
  const judged = input.charted && input.hasLimits;
  return { ...(input.count === null ? verdictOnReadings(input) : verdictOnCount(input.count)), judged };
}

type Words = Omit<SampleVerdict, 'judged'>;

/** Whatever the process does, a bad part is set apart. */
function verdictOnCount({
  inspected,
  nonconforming,
  comparison,
}: NonNullable<SampleVerdictInput['count']>): Words {
  const history =
    comparison === null
      ? 'Too few samples before this one to compare with.'
      : `${comparison.farAbove ? 'Far' : 'Not far'} above the ${percent(comparison.share)} of the ${comparison.samples} samples before.`;
  const unwatched = 'No control chart watches this count.';
  if (nonconforming === 0)
    return { level: 'fine', sentence: `Go on: no part of ${inspected} is nonconforming. ${unwatched}` };
  const apart = `Set the ${nonconforming === 1 ? 'nonconforming part' : `${nonconforming} nonconforming parts`} apart`;
  const share = `${nonconforming} of ${inspected}.`;
  return comparison?.farAbove
    ? {
        level: 'call',
        sentence: `Call: ${lowerFirst(apart)} and follow the reaction plan. ${share} ${history}`,
      }
    : { level: 'fine', sentence: `${apart} and follow the reaction plan. ${share} ${history} ${unwatched}` };
}

function verdictOnReadings(input: SampleVerdictInput): Words {
  const { questions, signals, outsideSpecification, charted, hasLimits, raisesAlarms, remark } = input;
  const doubted = new Set(questions.map(({ position }) => position));
  const surelyOutside = outsideSpecification.filter((position) => !doubted.has(position));
  const [question] = questions;
  const [signal] = signals;
  const again = question
    ? ` Measure ${pieces([...doubted])} again too: ${lowerFirst(question.sentence)}`
    : '';

  if (surelyOutside.length > 0) {
    const what = `Call: ${pieces(surelyOutside)} ${surelyOutside.length === 1 ? 'is' : 'are'} outside the specification`;
    if (signal)
      return {
        level: 'call',
        sentence: `${what} and the process has changed. Set the parts apart and follow the reaction plan: ${lowerFirst(signal.sentence)}${again}`,
      };
    const process = !hasLimits
      ? 'and no control limits say yet whether the process has changed'
      : 'although the control chart shows no change of the process';
    const adjusting = hasLimits
      ? ' Whether to adjust the machine is for the supervisor and the authorised setter.'
      : '';
    return {
      level: 'call',
      sentence: `${what} ${process}. Sort the parts, set the bad ones apart and follow the reaction plan.${adjusting}${again}`,
    };
  }
  if (question) {
    const every = outsideSpecification.length === doubted.size;
    const them = every ? (doubted.size === 1 ? 'it' : 'them') : pieces(outsideSpecification);
    const apart = outsideSpecification.length > 0 ? ` and keep ${them} apart until then` : '';
    return {
      level: 'measure-again',
      sentence: `Measure ${pieces([...doubted])} again${apart}: ${lowerFirst(question.sentence)}`,
    };
  }
  if (signal && raisesAlarms)
    return {
      level: 'call',
      sentence: `Call and follow the reaction plan: ${lowerFirst(signal.sentence)} The pieces measured are within the specification.`,
    };
  if (signal)
    return {
      level: 'fine',
      sentence: `Go on: a signal is drawn but calls nobody here. ${firstSentence(remark)} ${signal.sentence}`,
    };
  if (!charted)
    return {
      level: 'fine',
      sentence:
        'Go on: no value is outside the specification. No control chart is drawn for this characteristic, so a change of the process is not watched for.',
    };
  if (!hasLimits)
    return {
      level: 'fine',
      sentence:
        'Go on: no value is outside the specification, but no control limits are frozen yet, so a change of the process is not watched for.',
    };
  return {
    level: 'fine',
    sentence: 'Go on: no value is outside the specification and the control chart shows no change.',
  };
}

/** The whole remark stands on the other screens; at reading distance there is room for one sentence. */
const firstSentence = (text: string) => /^.*?[.!?](?=\s|$)/s.exec(text.trim())?.[0] ?? `${text.trim()}.`;

/** Two figures, as a person would say it. */
const percent = (share: number) => `${Number((share * 100).toPrecision(2))} %`;

/** People count pieces from 1. */
function pieces(positions: readonly number[]): string {
  const numbers = [...new Set(positions)].sort((a, b) => a - b).map((position) => position + 1);
  const last = numbers.pop();
  return numbers.length === 0 ? `piece ${last}` : `pieces ${numbers.join(', ')} and ${last}`;
}

const lowerFirst = (sentence: string) => sentence.charAt(0).toLowerCase() + sentence.slice(1);
