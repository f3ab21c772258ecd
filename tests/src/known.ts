import type { Outcome } from '../../src/errors.ts';

/** The answer, where a test knows that there is one. */
export function known<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(`${outcome.reason}: ${outcome.message}`);
  return outcome;
}
