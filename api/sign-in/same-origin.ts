import { ProblemError } from '../problem.ts';

/** Bodies that a form of another site could send without asking first (Fetch Standard, "CORS-safelisted", from memory). */
const fromForms = /^(?:application\/x-www-form-urlencoded|multipart\/form-data|text\/plain)\b/i;

const refused = (field: string, message: string): ProblemError =>
  new ProblemError(403, 'Not from this page', message, [{ field, message }]);

/**
 * A browser sends its cookies with whatever any page makes it send. So a request that changes something counts only
 * when the browser says that a page of this very server sent it, in a form that no plain form of another site has.
 */
export function requireOwnPage(request: Request): void {
  const { method, headers } = request;
  if (method === 'GET' || method === 'HEAD') return;
  const origin = headers.get('origin');
  const host = headers.get('host') ?? new URL(request.url).host;
  const own =
    origin === null
      ? headers.get('sec-fetch-site') === 'same-origin'
      : origin.replace(/^https?:\/\//, '') === host;
  if (!own) {
    throw refused(
      'Origin',
      'Changes under a sign-in are taken only from the pages of this server. Open Runtrue at its own address; a program needs a key instead.',
    );
  }
  const contentType = headers.get('content-type');
  if (contentType !== null && fromForms.test(contentType.trim())) {
    throw refused(
      'Content-Type',
      'A form cannot be sent here; send JSON with Content-Type: application/json.',
    );
  }
}
