/** Outcomes in tests: the result that has to be there, or the reason that has to be given. */
import type { Outcome } from '../../../src/errors.ts';

export function found<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(`${outcome.reason}: ${outcome.message}`);
  return outcome;
}

export const refusal = (outcome: Outcome<unknown>): string | null =>
  outcome.available ? null : outcome.reason;
