import { type Server, STATUS_CODES } from 'node:http';
import type { Socket } from 'node:net';
import type { Logger } from 'pino';
import type { Problem } from '../schemas.ts';
import { PROBLEM_TYPE } from './refusals.ts';

const answers: Readonly<Record<string, { readonly status: number; readonly detail: string }>> = {
  HPE_HEADER_OVERFLOW: {
    status: 431,
    detail: 'The headers are larger than 16 KiB; send fewer or shorter ones.',
  },
  HPE_CHUNK_EXTENSIONS_OVERFLOW: {
    status: 413,
    detail: 'The chunk extensions are too long; leave them out.',
  },
  ERR_HTTP_REQUEST_TIMEOUT: { status: 408, detail: 'The request did not arrive in time; send it again.' },
};
const malformed = { status: 400, detail: 'This is not a well-formed HTTP/1.1 request; use an HTTP client.' };

/** What Node.js refuses before a request exists is answered as a problem document as well (RFC 9457), and logged. */
export function answerClientErrors(server: Server, log: Logger): void {
  server.on('clientError', (error: NodeJS.ErrnoException, socket: Socket) => {
    // Gone already, or in the middle of an answer: asked as Node.js's own answer to such requests asks.
    const { _httpMessage: answer } = socket as Socket & { _httpMessage?: { headersSent: boolean } | null };
    if (error.code === 'ECONNRESET' || !socket.writable || answer?.headersSent === true) {
      socket.destroy();
      return;
    }
    const { status, detail } = answers[error.code ?? ''] ?? malformed;
    // Never what was sent: it may hold a secret.
    log.info({ address: socket.remoteAddress, code: error.code, status }, 'malformed request refused');
    const title = STATUS_CODES[status]!;
    const problem: Problem = {
      type: 'about:blank',
      title,
      status,
      detail,
      errors: [{ field: 'request', message: detail }],
    };
    const body = JSON.stringify(problem);
    socket.end(
      `HTTP/1.1 ${status} ${title}\r\nContent-Type: ${PROBLEM_TYPE}\r\nContent-Length: ${Buffer.byteLength(body)}\r\n` +
        `Connection: close\r\n\r\n${body}`,
    );
  });
}
