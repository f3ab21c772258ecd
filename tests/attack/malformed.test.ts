/** Bytes that are no HTTP request, over a real socket: refused as a problem document, and the server goes on. */
import type { Server } from 'node:http';
import { type AddressInfo, connect } from 'node:net';
import { createAdaptorServer } from '@hono/node-server';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { answerClientErrors } from '../../api/http/client-errors.ts';
import { Problem } from '../../api/schemas.ts';
import { openApp, type TestApp } from '../api/support.ts';

let app: TestApp;
let server: Server;
beforeAll(async () => {
  app = openApp({ logLevel: 'info' });
  server = createAdaptorServer({ fetch: app.app.fetch }) as Server;
  answerClientErrors(server, app.log);
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
});
afterAll(async () => {
  server.closeAllConnections();
  server.close();
  await app.close();
});

const answerTo = (bytes: string): Promise<string> =>
  new Promise((done, failed) => {
    const socket = connect((server.address() as AddressInfo).port, '127.0.0.1', () =>
      socket.write(bytes, 'latin1'),
    );
    let text = '';
    socket.setEncoding('utf8');
    socket.on('data', (piece: string) => {
      text += piece;
    });
    socket.on('end', () => done(text));
    socket.on('error', failed);
  });

it.each([
  ['a word', 'hello\r\n\r\n', 400],
  ['a method that HTTP does not know', 'BREW /api/plant HTTP/1.1\r\nHost: a\r\n\r\n', 400],
  ['another protocol', '\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03', 400],
  ['a header without a name', 'GET /api/plant HTTP/1.1\r\nHost: a\r\n: x\r\n\r\n', 400],
  [
    'two lengths',
    'POST /api/samples HTTP/1.1\r\nHost: a\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\nx',
    400,
  ],
  [
    'a length and chunks',
    'POST /api/samples HTTP/1.1\r\nHost: a\r\nContent-Length: 1\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n',
    400,
  ],
  ['a length that is no number', 'POST /api/samples HTTP/1.1\r\nHost: a\r\nContent-Length: x\r\n\r\n', 400],
  [
    'a broken chunk',
    'POST /api/samples HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n',
    400,
  ],
  ['endless headers', `GET / HTTP/1.1\r\nHost: a\r\n${`x: ${'y'.repeat(1000)}\r\n`.repeat(40)}\r\n`, 431],
])('refuses %s', async (_, bytes, status) => {
  const answer = await answerTo(bytes);
  expect(answer).toMatch(new RegExp(`^HTTP/1\\.1 ${status} `));
  const [head, body] = answer.split('\r\n\r\n') as [string, string];
  expect(head).toContain('Content-Type: application/problem+json');
  expect(Problem.strict().parse(JSON.parse(body)).status).toBe(status);
  expect((await fetch(`http://127.0.0.1:${(server.address() as AddressInfo).port}/api/health`)).status).toBe(
    200,
  );
  const lines = app.logged.splice(0);
  const [told, ...more] = lines.filter(({ msg }) => msg === 'malformed request refused');
  expect(told).toMatchObject({ status, address: '127.0.0.1' });
  // None of them is a fault of the server's.
  expect(lines.filter(({ level }) => Number(level) > 30)).toEqual([]);
  expect(Object.keys(told!).sort()).toEqual([
    'address',
    'code',
    'hostname',
    'level',
    'msg',
    'pid',
    'status',
    'time',
  ]);
  expect(more).toEqual([]);
});
