import type { Assessment } from './assessment.ts';
import type { Study } from './study.ts';

export interface Headline {
  readonly kind: 'fine' | 'ask' | 'call' | 'quiet';
  readonly sentence: string;
  readonly reasons: readonly string[];
  readonly nextStep: string;
}

const lowerFirst = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

/** The verdict in one plain sentence, the reasons behind it, and what to do next. */
export function headline(study: Study, { verdict, nearNormal, stability }: Assessment): Headline {
  const has = (reason: string): boolean => verdict.reasons.some((one) => one.reason === reason);
  const unknown = has('stability-unknown');
  const stable = unknown
    ? 'Stability not known'
    : has('unstable')
      ? 'Not stable'
      : study.limitsFrom === 'period'
        ? 'Stable by limits computed from this period, which nobody has frozen'
        : 'Stable';
  const shape =
    nearNormal === null
      ? 'shape not known'
      : nearNormal
        ? 'nothing against a normal shape'
        : 'not normal in shape';
  const quoted = verdict.level !== 'not-to-be-quoted';
  const answer = quoted ? lowerFirst(verdict.sentence) : 'no capability index may be quoted.';

  // A stable process with signals still owes an answer to each of them.
  const signals = stability?.signals ?? 0;
  const owed =
    !unknown && !has('unstable') && signals > 0
      ? ` The number of its signals (${signals}) is no more than chance gives; look at each all the same, above all at one far outside.`
      : '';
  const ownLimits = study.limitsFrom === 'period';
  const first =
    ownLimits && !unknown ? 'Freeze control limits, so that the next samples are judged by them. ' : '';
  return {
    kind: !quoted
      ? has('unstable')
        ? 'call'
        : 'ask'
      : verdict.level === 'capable'
        ? ownLimits
          ? 'ask'
          : 'fine'
        : verdict.level === 'not-capable'
          ? 'call'
          : 'ask',
    sentence: `${stable}, ${shape}; ${answer}`,
    reasons: verdict.reasons.map((one) => one.sentence),
    nextStep: `${first}${verdict.nextStep}${owed}`,
  };
}
