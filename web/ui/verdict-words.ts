import type { Verdict } from '../../api/schemas.ts';

/** The three verdicts, in the words that people on the floor hear. */
export const levelWords: Record<Verdict['level'], string> = {
  fine: 'Fine',
  'measure-again': 'Measure again',
  call: 'Call',
};
