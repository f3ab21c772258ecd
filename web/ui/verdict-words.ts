import type { Verdict } from '../../api/schemas.ts';

const levelWords: Record<Verdict['level'], string> = {
  fine: 'Fine',
  'measure-again': 'Measure again',
  call: 'Call',
};

/** The verdict, in the words that people on the floor hear. What no chart looked at is not called fine. */
export const verdictWords = ({ level, judged }: Verdict): string =>
  level === 'fine' && !judged ? 'Stored, not judged' : levelWords[level];
