import type { Review } from '../../api/schemas.ts';
import { formatCount } from '../format.ts';

/** Samples asked for at most to count them. */
export const MOST_COUNTED = 2_000;

/**
 * What limits that begin in the past do to the record, in one sentence, from the samples taken since they begin;
 * null where none was.
 */
export function judgedAnewSentence({
  samples,
  signals,
  truncated,
}: Pick<Review, 'samples' | 'signals' | 'truncated'>): string | null {
  const charted = new Set(samples.filter((sample) => sample.readings !== null).map((sample) => sample.id));
  if (charted.size === 0) return null;
  const standing = signals.filter((signal) => !signal.withdrawn && charted.has(signal.sampleId)).length;
  const atLeast = truncated ? 'more than ' : '';
  const one = charted.size === 1 && !truncated;
  const judged = `${atLeast}${formatCount(charted.size)} ${one ? 'sample' : 'samples'} taken since then would be judged anew by the new limits`;
  const outcome =
    standing === 0
      ? `${one ? 'It carries no signal' : truncated ? 'The newest of them carry no signal' : 'They carry no signal'} now, and may get some.`
      : `${standing === 1 ? 'The signal' : `${truncated ? 'At least' : 'The'} ${formatCount(standing)} signals`} on ${one ? 'it' : 'them'} may be withdrawn, and others may be raised.`;
  return `This time lies in the past: ${judged}. ${outcome}`;
}
