import { type DestinationStream, type Logger, pino } from 'pino';

/** Names under which something secret may stand, wherever it is logged by mistake. */
const secret = [
  'password',
  'pin',
  'secret',
  'token',
  'key',
  'authorization',
  'cookie',
  'set-cookie',
  'secondSignature',
];

/**
 * Of an error what tells where it arose. Other fields stay out: databases put the values of the row that they refuse
 * into theirs.
 */
const shownError = (error: unknown): object => {
  if (!(error instanceof Error)) return { message: String(error) };
  const { name, message, stack, code, cause } = error as NodeJS.ErrnoException;
  return {
    type: name,
    message,
    stack,
    ...(code !== undefined && { code }),
    ...(cause !== undefined && { cause: shownError(cause) }),
  };
};

/** One JSON object a line, without secrets and without personal data but for ids. */
export const createLog = (level: string, destination: DestinationStream): Logger =>
  pino(
    {
      level,
      redact: {
        paths: secret.flatMap((name) => [`["${name}"]`, `*["${name}"]`, `*.*["${name}"]`]),
        censor: '…',
      },
      serializers: { err: shownError },
    },
    destination,
  );
