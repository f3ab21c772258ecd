import { ProblemError } from '../problem.ts';
import type { Admit } from '../who.ts';

const CHECKED_EVERY_MILLISECONDS = 15_000;

/**
 * For answers that go on and on: aborted when the reader goes, and soon after they may no longer read, because the
 * session has ended, the station was withdrawn or the key revoked.
 */
export function whileAdmitted(admit: Admit, request: Request): AbortSignal {
  const over = new AbortController();
  const check = setInterval(() => {
    admit(request, 'read').catch((error: unknown) => {
      // A database that is away for a moment says nothing about the reader.
      if (error instanceof ProblemError && (error.problem.status === 401 || error.problem.status === 403))
        over.abort();
    });
  }, CHECKED_EVERY_MILLISECONDS);
  check.unref();
  const signal = AbortSignal.any([request.signal, over.signal]);
  signal.addEventListener('abort', () => clearInterval(check), { once: true });
  return signal;
}
