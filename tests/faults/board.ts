/** A reader of the event stream, as an open page is one. */
import { type ClientRequest, get, type IncomingMessage } from 'node:http';

export interface Board {
  /** How many changes came in. */
  readonly changes: () => number;
  /** Data lines as they came in. */
  readonly lines: () => readonly string[];
  readonly isCut: () => boolean;
  close(): void;
}

/** Resolves when the stream is open. `keepLines`: remembers what came. */
export function openBoard(address: string, keepLines = false): Promise<Board> {
  return new Promise((done, failed) => {
    let changes = 0;
    let cut = false;
    let closed = false;
    let rest = '';
    const lines: string[] = [];
    const request: ClientRequest = get(
      `${address}/api/stream`,
      { agent: false },
      (response: IncomingMessage) => {
        response.setEncoding('utf8');
        const board: Board = {
          changes: () => changes,
          lines: () => lines,
          isCut: () => cut,
          close() {
            closed = true;
            request.destroy();
          },
        };
        response.on('data', (chunk: string) => {
          const parts = (rest + chunk).split('\n');
          rest = parts.pop()!;
          for (const line of parts) {
            if (!line.startsWith('data: ')) continue;
            changes += 1;
            if (keepLines) lines.push(line.slice(6));
          }
          // The first words of the stream say that it is open.
          done(board);
        });
        response.on('error', () => {});
        response.once('close', () => {
          cut = !closed;
        });
      },
    );
    request.once('error', failed);
  });
}
