import { randomUUID } from 'node:crypto';
import type { Context } from 'hono';
import type { Logger } from 'pino';
import { StatisticsError } from '../../src/errors.ts';
import { ProblemError } from '../problem.ts';
import type { Problem } from '../schemas.ts';

export const PROBLEM_TYPE = 'application/problem+json';

const answerWith = (problem: Problem, headers: Record<string, string> = {}): Response =>
  new Response(JSON.stringify(problem), {
    status: problem.status,
    // A refused body may still be on its way; closing the connection keeps nobody waiting for it.
    headers: {
      ...headers,
      'Content-Type': PROBLEM_TYPE,
      ...(problem.status === 413 ? { Connection: 'close' } : {}),
    },
  });

/** The problem that a foreseen error stands for; null for any other error. */
export function knownProblem(error: Error): Problem | null {
  if (error instanceof ProblemError) return error.problem;
  if (!(error instanceof StatisticsError)) return null;
  return {
    type: 'about:blank',
    title: 'Not acceptable as it stands',
    status: 422,
    detail: error.message,
    errors: [{ field: error.argument, message: error.message, code: error.code }],
  };
}

/** HTTP wants every 401 to say what it would take; a browser that reads "Bearer" opens no window of its own. */
function headersOf(error: Error, { status }: Problem): Readonly<Record<string, string>> {
  const given = error instanceof ProblemError ? error.headers : {};
  return status === 401 ? { 'WWW-Authenticate': 'Bearer realm="Runtrue"', ...given } : given;
}

const turnedAway: ReadonlySet<number> = new Set([401, 403, 421, 429]);

/** The one place where an error becomes an answer (RFC 9457). What is not foreseen gets a reference for the log. */
export const refusal =
  (log: Logger) =>
  (error: Error, context: Context): Response => {
    const { method, path } = context.req;
    const requestId: string | undefined = context.get('requestId');
    const problem = knownProblem(error);
    if (problem !== null) {
      const { status, detail } = problem;
      // Who is turned away is worth knowing to whoever looks for an attack.
      if (turnedAway.has(status)) log.info({ requestId, status, detail, method, path }, 'turned away');
      return answerWith(problem, headersOf(error, problem));
    }
    const reference = randomUUID();
    log.error({ err: error, reference, requestId, method, path }, 'unforeseen error');
    return answerWith({
      type: 'about:blank',
      title: 'Something went wrong in the server',
      status: 500,
      detail: `This is a fault of the program, not of the request; its log tells more under reference ${reference}.`,
      errors: [],
    });
  };

export const noSuchPath = (path: string): Response => {
  const message = `There is nothing at ${path}. The list of addresses is at /api/docs.`;
  return answerWith({
    type: 'about:blank',
    title: 'Not found',
    status: 404,
    detail: message,
    errors: [{ field: 'path', message }],
  });
};

export const wrongMethod = (method: string, path: string, allowed: readonly string[]): Response => {
  const message = `${path} does not take ${method}; it takes ${allowed.join(', ')}.`;
  return answerWith(
    {
      type: 'about:blank',
      title: 'Method not allowed',
      status: 405,
      detail: message,
      errors: [{ field: 'method', message }],
    },
    { Allow: allowed.join(', ') },
  );
};

/** While a database is being filled before the first request. */
export const notReady = (): Response =>
  answerWith(
    {
      type: 'about:blank',
      title: 'Not ready yet',
      status: 503,
      detail: 'The plant is still being loaded; try again in a few seconds.',
      errors: [],
    },
    { 'Retry-After': '2' },
  );
