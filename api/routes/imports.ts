import type { AppParts } from '../app-parts.ts';
import { type App, type Handle, jsonAnswer } from '../http/handle.ts';
import { ProblemError, unacceptable } from '../problem.ts';
import type { Admit } from '../who.ts';

const FILE_NAME_HEADER = 'File-Name';
const MAX_NAME = 200;

function fileNameOf(headers: Headers): string {
  const given = headers.get(FILE_NAME_HEADER);
  if (given === null || given === '')
    throw unacceptable(FILE_NAME_HEADER, 'is missing; give the name of the file, percent-encoded');
  try {
    return decodeURIComponent(given).slice(0, MAX_NAME);
  } catch {
    throw unacceptable(FILE_NAME_HEADER, 'must be percent-encoded UTF-8');
  }
}

/** What the file is shows its bytes; the header only tells a file from a form. */
const fileTypes: readonly string[] = [
  'text/csv',
  'application/x-ndjson',
  'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
  'application/octet-stream',
];

function checkContentType(headers: Headers): void {
  const given = (headers.get('content-type') ?? '').split(';')[0]!.trim().toLowerCase();
  if (fileTypes.includes(given)) return;
  const message = `Send the file itself as the body, with one of these as its Content-Type: ${fileTypes.join(', ')}.`;
  throw new ProblemError(415, 'Not a file of samples', message, [{ field: 'Content-Type', message }]);
}

export function importRoutes(app: App, handle: Handle, admit: Admit, { imports }: AppParts): void {
  // By hand: the body is the file.
  app.post('/api/imports', async (context) => {
    const { person } = await admit(context.req.raw, 'import samples', 'about no stream');
    const { headers, body } = context.req.raw;
    checkContentType(headers);
    const bytes = Number(headers.get('content-length') ?? 0);
    const sent = { fileName: fileNameOf(headers), bytes, personId: person?.id ?? null };
    return jsonAnswer(await imports.receive(body, sent));
  });

  handle('GET /api/imports/{id}', ({ params }) => imports.progress(params.id));
  handle('POST /api/imports/{id}/shape', ({ params, body }) => imports.reshape(params.id, body));
  handle('POST /api/imports/{id}/preview', ({ params, body }) => imports.preview(params.id, body));
  handle('POST /api/imports/{id}/commit', ({ params, body, by }) => imports.commit(params.id, body, by));
}
