import { once } from 'node:events';
import { createServer } from 'node:http';
import { type AddressInfo, connect, type Socket } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import { expect, it } from 'vitest';
import { stopServing } from '../../api/http/stop-serving.ts';

it('answers what is in, however long it takes, and waits for no client that does not finish', async () => {
  const server = createServer((request, response) => {
    request.on('error', () => undefined).resume();
    // Longer than what is unfinished is waited for.
    request.once('end', () => setTimeout(() => response.end('done'), 3000));
  });
  const stop = stopServing(server);
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  const { port } = server.address() as AddressInfo;
  const open = async (
    text: string,
  ): Promise<{ socket: Socket; heard: () => string; closed: Promise<unknown> }> => {
    const socket = connect(port, '127.0.0.1');
    let heard = '';
    socket
      .on('error', () => undefined)
      .on('data', (chunk) => {
        heard += chunk.toString();
      });
    const closed = new Promise((done) => socket.once('close', done));
    await once(socket, 'connect');
    if (text !== '') socket.write(text);
    return { socket, heard: () => heard, closed };
  };
  const head = 'POST / HTTP/1.1\r\nHost: here\r\nContent-Length: 4\r\n\r\n';
  const whole = await open(`${head}four`);
  const half = await open(`${head}fo`);
  const silent = await open('');
  await wait(100);
  const stopped = stop();
  await half.closed;
  await silent.closed;
  expect(whole.heard()).toBe('');
  await stopped;
  await whole.closed;
  expect(whole.heard()).toMatch(/^HTTP\/1\.1 200 OK[\s\S]*done/);
  expect(half.heard()).toBe('');
});
