import { ProblemError } from '../problem.ts';

/** Largest JSON body, in bytes. */
const MAX_JSON_BYTES = 1024 * 1024;

const tooLarge = (limit: number): ProblemError => {
  const message = `The body is larger than ${Math.round(limit / 1024)} KiB; send less at once.`;
  return new ProblemError(413, 'Body too large', message, [{ field: 'body', message }]);
};

/** The bytes of a body, counted while they arrive, so that never more than `limit` of them are held. */
async function readBytes(request: Request, limit: number): Promise<Uint8Array> {
  if (Number(request.headers.get('content-length') ?? 0) > limit) throw tooLarge(limit);
  const chunks: Uint8Array[] = [];
  let length = 0;
  if (request.body !== null) {
    const reader = request.body.getReader();
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      length += value.byteLength;
      if (length > limit) {
        // Not awaited: a sender that never ends would never let the cancel end either.
        reader.cancel().catch(() => undefined);
        throw tooLarge(limit);
      }
      chunks.push(value);
    }
  }
  return chunks.length === 1 ? chunks[0]! : Buffer.concat(chunks);
}

/** The text of a JSON body; refuses other content types (415) and bytes that are not UTF-8 (400). */
export async function readJsonText(request: Request): Promise<string> {
  const contentType = request.headers.get('content-type') ?? '';
  if (!/^application\/(?:[\w.+-]+\+)?json\s*(?:;.*)?$/i.test(contentType.trim())) {
    const got =
      contentType === ''
        ? 'there is no Content-Type'
        : `it says ${JSON.stringify(contentType.slice(0, 100))}`;
    const message = `Send JSON with the header Content-Type: application/json; ${got}.`;
    throw new ProblemError(415, 'Not JSON', message, [{ field: 'Content-Type', message }]);
  }
  const bytes = await readBytes(request, MAX_JSON_BYTES);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    const message = 'The body is not UTF-8; JSON travels as UTF-8.';
    throw new ProblemError(400, 'Malformed JSON', message, [{ field: 'body', message }]);
  }
}
