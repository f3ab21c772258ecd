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
export function headline(study: Study, assessment: Assessment): Headline {
  const { verdict, nearNormal, weakEvidence, shape: shapeTest, stability, planRemark } = assessment;
  const has = (reason: string): boolean => verdict.reasons.some((one) => one.reason === reason);
  const unknown = has('stability-unknown');
  const notJudged = has('stability-not-judged');
  const stable = notJudged
    ? 'This chart cannot judge stability'
    : unknown
      ? 'Stability not known'
      : has('unstable')
        ? 'Not stable'
        : study.limitsFrom === 'period'
          ? 'Stable by limits computed from this period, which nobody has frozen'
          : 'Stable';
  const shape =
    nearNormal === null
      ? 'shape not known'
      : weakEvidence && shapeTest.available
        ? `weak evidence against a normal shape (p = ${shapeTest.pValue.toFixed(3)})`
        : nearNormal
          ? 'nothing against a normal shape'
          : 'not normal in shape';
  const quoted = verdict.level !== 'not-to-be-quoted';
  const answer = quoted ? lowerFirst(verdict.sentence) : 'no capability index may be quoted.';

  // A stable process with signals still owes an answer to each of them.
  const signals = stability?.signals ?? 0;
  const owed =
    stability !== null && !unknown && !notJudged && !has('unstable') && signals > 0
      ? ` The number of its signals (${signals}) is ${
          signals <= stability.expectedFalseSignals ? 'no' : 'not clearly'
        } more than chance gives (${stability.expectedFalseSignals.toFixed(1)} expected); look at each all the same, above all at one far outside.`
      : '';
  const known =
    has('unstable') && planRemark !== ''
      ? ` The plan of this stream says: “${planRemark}” Set apart what this explains before you look for another cause.`
      : '';
  const ownLimits = study.limitsFrom === 'period';
  const first =
    ownLimits && !unknown && !notJudged
      ? 'Freeze control limits, so that the next samples are judged by them. '
      : '';
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
    nextStep: `${first}${verdict.nextStep}${known}${owed}`,
  };
}
