import { ProblemError } from '../problem.ts';
import type { Admit } from '../who.ts';

/**
 * For answers that go on and on: whether their reader may still read. No longer where the session has ended, the
 * station was withdrawn or the key revoked; a database that is away for a moment says nothing about the reader.
 */
export async function stillAdmitted(admit: Admit, request: Request): Promise<boolean> {
  try {
    await admit(request, 'read');
    return true;
  } catch (error) {
    return !(error instanceof ProblemError && (error.problem.status === 401 || error.problem.status === 403));
  }
}
