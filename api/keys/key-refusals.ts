/** Refusals of requests with a key: in words, and in the terms of RFC 6750 section 3 for programs. */
import { ProblemError } from '../problem.ts';

const challenge = (error: string, scope?: string): Record<string, string> => ({
  'WWW-Authenticate': `Bearer realm="Runtrue", error="${error}"${scope === undefined ? '' : `, scope="${scope}"`}`,
});

/** 400: there is a key, or should be, but not where one is looked for. */
export const keyMisplaced = (): ProblemError => {
  const message = 'Send the key as it was shown when it was made: Authorization: Bearer runtrue_…';
  return new ProblemError(
    400,
    'No key in the header',
    message,
    [{ field: 'Authorization', message }],
    challenge('invalid_request'),
  );
};

/** 401. */
export const keyRefused = (message: string): ProblemError =>
  new ProblemError(
    401,
    'The key is not valid',
    message,
    [{ field: 'Authorization', message }],
    challenge('invalid_token'),
  );

/** 403: the key is good, but not for this. */
export const keyMayNot = (keyId: string, action: string): ProblemError => {
  const message = `The key ${keyId} may not ${action}; an administrator can make one that may, if programs may do so.`;
  return new ProblemError(
    403,
    'Not allowed',
    message,
    [{ field: 'Authorization', message }],
    challenge('insufficient_scope', action),
  );
};

/** 403: the key is good, but not here. */
export const keyReachesNot = (keyId: string, reached: string, named: string | null): ProblemError => {
  const message =
    named === null
      ? `The key ${keyId} is only for ${reached}; this address reaches further than that.`
      : `The key ${keyId} is only for ${reached}, not for ${named}.`;
  return new ProblemError(
    403,
    'Not allowed',
    message,
    [{ field: 'Authorization', message }],
    challenge('insufficient_scope'),
  );
};
