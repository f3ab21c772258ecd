/** The app in process, behind a real socket on loopback. */

import type { Server } from 'node:http';
import { Agent, type IncomingMessage, request, type ServerOptions } from 'node:http';
import { type AddressInfo, connect } from 'node:net';
import { createAdaptorServer } from '@hono/node-server';
import { answerClientErrors } from '../../api/http/client-errors.ts';
import { usualServerLimits } from '../../api/http/server-limits.ts';
import type { TestApp } from '../api/support.ts';

export interface Served {
  readonly port: number;
  readonly close: () => Promise<void>;
}

export async function serve(
  { app, log }: Pick<TestApp, 'app' | 'log'>,
  limits: ServerOptions = {},
): Promise<Served> {
  const server = createAdaptorServer({
    serverOptions: { ...usualServerLimits, ...limits },
    fetch: (incoming, bindings) => app.fetch(incoming, bindings),
  }) as Server;
  answerClientErrors(server, log);
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  return {
    port: (server.address() as AddressInfo).port,
    close: () =>
      new Promise((done) => {
        server.close(() => done());
        server.closeAllConnections();
      }),
  };
}

export interface Got {
  readonly status: number;
  readonly headers: IncomingMessage['headers'];
  readonly text: string;
}

/** Sends headers exactly as given: unlike fetch, also Host. */
export function get(
  port: number,
  path: string,
  headers: Record<string, string> = {},
  method = 'GET',
  body?: string,
): Promise<Got> {
  return new Promise((done, failed) => {
    const sent = request(
      { host: '127.0.0.1', port, path, method, headers, agent: new Agent({ keepAlive: false }) },
      (answer) => {
        let text = '';
        answer.setEncoding('utf8').on('data', (part: string) => {
          text += part;
        });
        answer.once('end', () => done({ status: answer.statusCode!, headers: answer.headers, text }));
        answer.once('error', failed);
      },
    );
    sent.once('error', failed);
    sent.end(body);
  });
}

/** Writes to a plain socket, and gives all that came back when the server closes it. */
export function talk(port: number, ...parts: readonly string[]): Promise<string> {
  return new Promise((done) => {
    let answer = '';
    const socket = connect(port, '127.0.0.1', () => {
      for (const part of parts) socket.write(part);
    });
    socket.setEncoding('utf8').on('data', (part: string) => {
      answer += part;
    });
    // A closed connection is what is waited for, whichever way it closes.
    socket.on('error', () => {});
    socket.once('close', () => done(answer));
  });
}
