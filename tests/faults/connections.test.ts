/** Clients and boards that misbehave or come in crowds: the others notice nothing. */

import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import { connect, type Socket } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, beforeAll, expect, it } from 'vitest';
import type { SampleAnswer, SampleHistory } from '../../api/schemas.ts';
import { type Board, openBoard } from './board.ts';
import { NOMINAL } from './plant.ts';
import { type RunningPlant, runningPlant, widths } from './running-plant.ts';

let plant: RunningPlant;
beforeAll(async () => {
  plant = await runningPlant();
});
afterAll(() => plant.end());

async function until(holds: () => boolean, what: string): Promise<void> {
  for (let waited = 0; waited < 60_000; waited += 20) {
    if (holds()) return;
    await wait(20);
  }
  throw new Error(`Still waiting: ${what}`);
}

const enter = async (sample = widths()): Promise<SampleAnswer> => {
  const { status, body } = await plant.request('POST', '/api/samples', sample);
  expect(status, JSON.stringify(body)).toBe(200);
  return body as SampleAnswer;
};

const sampleCount = async (): Promise<number> =>
  ((await plant.request('GET', '/api/health')).body as { samples: number }).samples;

async function openSocket(): Promise<Socket> {
  const { hostname, port } = new URL(plant.server.address!);
  const socket = connect(Number(port), hostname);
  socket.on('error', () => {});
  await once(socket, 'connect');
  return socket;
}

/** The beginning of a request whose body is not whole. */
function halfRequest(): string {
  const body = JSON.stringify(widths());
  return [
    'POST /api/samples HTTP/1.1',
    'Host: 127.0.0.1',
    'Content-Type: application/json',
    'Runtrue-Person: tech',
    `Content-Length: ${body.length}`,
    '',
    body.slice(0, body.length / 2),
  ].join('\r\n');
}

const residentMegabytes = (): number => {
  const [, kilobytes] = /VmRSS:\s+(\d+) kB/.exec(readFileSync(`/proc/${plant.server.pid}/status`, 'utf8'))!;
  return Number(kilobytes) / 1024;
};

it('a client that vanishes after half a body stores nothing and disturbs nobody', async () => {
  const before = await sampleCount();
  const sockets = await Promise.all(Array.from({ length: 100 }, openSocket));
  for (const socket of sockets) socket.write(halfRequest());
  await wait(50);
  for (const [index, socket] of sockets.entries()) {
    if (index % 2 === 0) socket.resetAndDestroy();
    else socket.destroy();
  }
  await enter();
  expect(await sampleCount()).toBe(before + 1);
});

it('thousands of idle and half-open connections leave room for work', async () => {
  // Each takes a file in both processes; machines allow 1,024 at least.
  const limit = Number(/Max open files\s+(\d+)/.exec(readFileSync('/proc/self/limits', 'utf8'))![1]);
  const count = Math.min(3000, Math.floor(limit / 2));
  const sockets: Socket[] = [];
  while (sockets.length < count)
    sockets.push(...(await Promise.all(Array.from({ length: 100 }, openSocket))));
  for (const [index, socket] of sockets.entries()) if (index % 3 === 0) socket.write(halfRequest());
  const before = await sampleCount();
  for (let sample = 0; sample < 20; sample++) await enter();
  expect(await sampleCount()).toBe(before + 20);
  for (const socket of sockets) socket.destroy();
  await enter();
});

it('more connections than the server may open: it lives, and works again when they are gone', async () => {
  await plant.restart({ shell: 'ulimit -n 200; exec "$@"' });
  const before = await sampleCount();
  const sockets = await Promise.all(Array.from({ length: 400 }, openSocket));
  await wait(200);
  for (const socket of sockets) socket.destroy();
  await enter();
  expect(await sampleCount()).toBe(before + 1);
  await plant.restart();
});

it('the same sample sent 50 times at once is one row and 50 equal answers', async () => {
  const before = await sampleCount();
  const sample = widths(NOMINAL + 0.5);
  const answers = await Promise.all(Array.from({ length: 50 }, () => enter(sample)));
  for (const answer of answers) expect(answer).toEqual(answers[0]);
  expect(answers[0]!.signals.length).toBeGreaterThan(0);
  expect(await sampleCount()).toBe(before + 1);
  const { body } = await plant.request('GET', `/api/samples/${sample.id}`);
  expect((body as SampleHistory).revisions).toHaveLength(1);
  expect((body as SampleHistory).signals).toHaveLength(answers[0]!.signals.length);
});

it('200 boards at once each see every change, in the same order', async () => {
  const boards: Board[] = [];
  for (let opened = 0; opened < 200; opened += 50)
    boards.push(
      ...(await Promise.all(Array.from({ length: 50 }, () => openBoard(plant.server.address!, true)))),
    );
  const samples = Array.from({ length: 50 }, () => widths());
  await Promise.all(samples.map((sample) => enter(sample)));
  const seenBy = (board: Board): string[] =>
    board
      .lines()
      .map((line) => JSON.parse(line) as { kind: string; sampleId?: string })
      .flatMap(({ kind, sampleId }) => (kind === 'sample' ? [sampleId!] : []));
  for (const board of boards) await until(() => seenBy(board).length >= samples.length, 'a board sees all');
  const first = seenBy(boards[0]!);
  expect(new Set(first)).toEqual(new Set(samples.map(({ id }) => id)));
  for (const board of boards) expect(seenBy(board)).toEqual(first);
  for (const board of boards) board.close();
});

it('boards that do not read hold nobody up; one that reads late still sees everything', async () => {
  const request = 'GET /api/stream HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n';
  const stuck = await Promise.all(Array.from({ length: 50 }, openSocket));
  for (const socket of stuck) {
    socket.pause();
    socket.write(request);
  }
  const late = await openSocket();
  late.setEncoding('utf8').write(request);
  await once(late, 'data');
  late.pause();
  const quick = await openBoard(plant.server.address!);
  const before = residentMegabytes();
  const samples = Array.from({ length: 200 }, () => widths());
  for (let sent = 0; sent < samples.length; sent += 20)
    await Promise.all(samples.slice(sent, sent + 20).map((sample) => enter(sample)));
  await until(() => quick.changes() >= samples.length, 'the quick board sees all');
  // Each reader may be 256 kB behind (event-stream.ts), and no more.
  expect(residentMegabytes() - before).toBeLessThan(100);

  let heard = '';
  late.on('data', (text: string) => {
    heard += text;
  });
  late.resume();
  await until(() => samples.every(({ id }) => heard.includes(id)), 'the late board sees all');
  for (const socket of [...stuck, late]) socket.destroy();
  quick.close();
});
