import type { Problem } from './schemas.ts';

/** A refusal that the caller can act on: which field is wrong, and the fix. Becomes an RFC 9457 problem. */
export class ProblemError extends Error {
  override readonly name = 'ProblemError';
  readonly problem: Problem;

  /** What programs read besides the problem itself. */
  readonly headers: Readonly<Record<string, string>>;

  constructor(
    status: number,
    title: string,
    detail: string,
    errors: Problem['errors'] = [],
    headers: Readonly<Record<string, string>> = {},
  ) {
    super(detail);
    this.headers = headers;
    this.problem = { type: 'about:blank', title, status, detail, errors };
  }
}

/** 422: well-formed, but it cannot be accepted as it stands. */
export const unacceptable = (field: string, message: string): ProblemError =>
  new ProblemError(422, 'Not acceptable as it stands', message, [{ field, message }]);

/** 404, for a thing named in the path or in a field. */
export const unknown = (what: string, id: string | number, field: string): ProblemError => {
  const message = `There is no ${what} "${id}".`;
  return new ProblemError(404, 'Not found', message, [{ field, message }]);
};

/** 409: it contradicts what is stored by now. */
export const conflict = (field: string, message: string): ProblemError =>
  new ProblemError(409, 'Conflict with what is stored', message, [{ field, message }]);
