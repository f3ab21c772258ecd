import pg from 'pg';
import { ProblemError } from '../problem.ts';

/** Error codes are those of appendix A of the PostgreSQL manual. */
const codeOf = (error: unknown): string | null =>
  error instanceof pg.DatabaseError && error.code !== undefined ? error.code : null;

/** The database does not answer, stops, is full, takes no writes or no further connection, or somebody holds a lock. */
const outOfOrder = /^(08|53|57P|58|XX|25006$|55P03$|57014$|25P03$|25P04$|28)/;

// What Node.js and the client say of a connection that breaks, in place of a code of the database.
const broken =
  /connection (error|terminated|timeout)|timeout exceeded|read timeout|not queryable|Client was closed/i;

/** The connection is gone, or was never there. */
export function isBroken(error: unknown): boolean {
  const code = codeOf(error);
  if (code !== null) return /^(08|57P)/.test(code);
  if (!(error instanceof Error)) return false;
  const { code: system, syscall } = error as NodeJS.ErrnoException;
  return syscall !== undefined || /^E[A-Z]+$/.test(system ?? '') || broken.test(error.message);
}

export type Stage = 'reading' | 'writing' | 'committing';

/** A refusal in words where the database is out of order; other errors as they are. */
export function asRefusal(error: unknown, stage: Stage): unknown {
  const code = codeOf(error);
  if (!isBroken(error) && (code === null || !outOfOrder.test(code))) return error;
  const shown = code ?? (error as NodeJS.ErrnoException).code ?? 'no answer';
  const refusal =
    stage === 'reading'
      ? new ProblemError(503, 'Not answered', `The database does not answer (${shown}); try again.`)
      : stage === 'committing' && isBroken(error)
        ? new ProblemError(
            503,
            'Not known whether it is stored',
            `The connection to the database broke while it stored (${shown}). Send the same again with the same id: it is stored once.`,
          )
        : new ProblemError(
            503,
            'Not stored',
            `The database could not write (${shown}); nothing was stored. Try again; if it stays, look at the database server.`,
          );
  refusal.cause = error;
  return refusal;
}

/** Two transactions got in each other's way; done again, it stands alone or finds what the other one wrote. */
export const isPassing = (error: unknown): boolean =>
  ['40001', '40P01', '23505'].includes(codeOf(error) ?? '');

/** The month of a row has no partition yet. */
export const isOutsidePartitions = (error: unknown): boolean =>
  error instanceof pg.DatabaseError && error.code === '23514' && /no partition/.test(error.message);
