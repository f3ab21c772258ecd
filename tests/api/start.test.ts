/** The built server as a process: how it starts, refuses to start, and stops. */
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { connect, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, describe, expect, it } from 'vitest';
import { nodeVersionProblem } from '../../api/node-version.ts';
import { startServer } from '../browser/server.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-start-'));
afterAll(() => rmSync(folder, { recursive: true }));

const main = new URL('../../dist/server/main.js', import.meta.url).pathname;
const runToEnd = (environment: Record<string, string>): Promise<{ code: number | null; printed: string }> =>
  new Promise((done) => {
    const child = spawn(process.execPath, [main], { env: { ...process.env, ...environment } });
    let printed = '';
    for (const output of [child.stdout, child.stderr]) {
      output.on('data', (chunk) => {
        printed += chunk;
      });
    }
    child.once('exit', (code) => done({ code, printed: printed.trim() }));
  });

describe('the version of Node.js', () => {
  it.each(['20.19.0', '20.19.1', '20.20.0', '22.0.0', '24.3.1'])('is good with %s', (version) =>
    expect(nodeVersionProblem(version)).toBeNull(),
  );
  it.each(['20.18.9', '18.20.4', '16.0.0', '4.9.1'])('is too old with %s', (version) =>
    expect(nodeVersionProblem(version)).toBe(`Runtrue needs Node.js 20.19.0 or newer; this is ${version}.`),
  );
});

it('makes its data folder for its owner only', async () => {
  const DATA_DIR = join(folder, 'made', 'data');
  // It makes the folder first, then fails to listen.
  await runToEnd({ PORT: '0', HOST: '192.0.2.1', DATA_DIR });
  expect((statSync(DATA_DIR).mode & 0o777).toString(8)).toBe('700');
});

describe('a server that cannot start says why in one sentence', () => {
  it.each<[string, Record<string, string>, RegExp]>([
    [
      'a port that is none',
      { PORT: '70000' },
      /^PORT must be a whole number from 0 to 65535, not "70000"\.$/,
    ],
    [
      'a host that is not here',
      { PORT: '0', HOST: '192.0.2.1' },
      /^Cannot listen on 192\.0\.2\.1 .*check HOST and PORT\.$/,
    ],
    [
      'sign-in left out where others reach it',
      { PORT: '0', HOST: '0.0.0.0', SIGN_IN: 'off' },
      /^SIGN_IN=off is possible only on this machine itself \(HOST=127\.0\.0\.1\), not on 0\.0\.0\.0: /,
    ],
    [
      'sign-in that is neither on nor off',
      { PORT: '0', SIGN_IN: 'maybe' },
      /^SIGN_IN must be on or off, not "maybe"\.$/,
    ],
    [
      'a folder that cannot be made',
      { PORT: '0', DATA_DIR: '/proc/nowhere' },
      /^The data folder \/proc\/nowhere cannot be written .*DATA_DIR/,
    ],
  ])('%s', async (_, environment, sentence) => {
    const { code, printed } = await runToEnd({ DATA_DIR: folder, ...environment });
    expect(printed).toMatch(sentence);
    expect(printed.split('\n')).toHaveLength(1);
    expect(code).toBe(1);
  });

  it.each<[string, (file: string) => void, string]>([
    [
      'a database newer than the program',
      (file) => {
        const database = new Database(file);
        database.pragma('user_version = 999');
        database.close();
      },
      'schema 999',
    ],
    [
      'a file that is no database',
      (file) => writeFileSync(file, 'Measured by hand, see the binder.'.repeat(100)),
      'not a database',
    ],
  ])('%s', async (_, make, words) => {
    const data = mkdtempSync(join(folder, 'data-'));
    make(join(data, 'plant.sqlite'));
    const { code, printed } = await runToEnd({ PORT: '0', DATA_DIR: data });
    expect(printed).toContain(words);
    expect(printed.split('\n')).toHaveLength(1);
    expect(code).toBe(1);
  });
});

/** Sends the head of a request with a body, and waits until the server has it in hand: it then asks for the body. */
async function sendHead(address: string, head: string): Promise<{ socket: Socket; answer: () => string }> {
  const { hostname, port } = new URL(address);
  const socket = connect(Number(port), hostname);
  socket.on('error', () => undefined);
  let answer = '';
  const asked = new Promise<void>((done) => {
    socket.on('data', (chunk) => {
      answer += chunk.toString();
      if (answer.startsWith('HTTP/1.1 100 Continue')) done();
    });
  });
  socket.write(
    `PUT /api/people/kim HTTP/1.1\r\nHost: ${hostname}\r\nContent-Type: application/json\r\n` +
      `Expect: 100-continue\r\n${head}\r\n\r\n`,
  );
  await asked;
  return { socket, answer: () => answer };
}

describe('a running server', () => {
  it('leaves a data folder to the server that works in it, and takes it over from a killed one', async () => {
    const dataFolder = mkdtempSync(join(folder, 'data-'));
    const first = await startServer({ program: 'main', dataFolder });
    const { code, printed } = await runToEnd({ PORT: '0', DATA_DIR: dataFolder });
    expect(printed).toMatch(/^Another server works in the data folder .*DATA_DIR/);
    expect(code).toBe(1);
    await first.kill();
    const next = await startServer({ program: 'main', dataFolder });
    expect((await fetch(`${next.address}/api/health`)).status).toBe(200);
    await next.stop();
  });

  it('says when sign-in is off', async () => {
    const server = await startServer({ program: 'main', dataFolder: mkdtempSync(join(folder, 'data-')) });
    await expect
      .poll(() => server.output(), { timeout: 30_000 })
      .toContain('Sign-in is off (SIGN_IN=off): whoever reaches the page acts under any name.');
    expect(server.output()).not.toContain('#first=');
    await server.stop();
  });

  it('finishes what is under way, ends event streams and stops with code 0', async () => {
    const server = await startServer({ program: 'main', dataFolder: mkdtempSync(join(folder, 'data-')) });
    const stream = await fetch(`${server.address}/api/stream`);
    expect((await fetch(`${server.address}/api/health`)).status).toBe(200);

    // A request of which half has arrived.
    const body = JSON.stringify({ record: { id: 'kim', name: 'Kim', role: 'tech' } });
    const { socket, answer } = await sendHead(server.address, `Content-Length: ${body.length}`);
    socket.write(body.slice(0, 10));

    const ended = server.stop();
    // The stream ends when stopping begins.
    expect(await stream.text()).toContain('connected');
    socket.write(body.slice(10));
    expect(await ended).toBe(0);
    expect(answer()).toContain('200 OK');
    expect(answer()).toContain('{"ok":true}');
  });

  it('is stopped even while a request never ends', async () => {
    const server = await startServer({ program: 'main', dataFolder: mkdtempSync(join(folder, 'data-')) });
    const { socket } = await sendHead(server.address, 'Content-Length: 100');
    socket.write('{');
    // The server's own limit is two seconds; a busy machine may need more.
    const began = performance.now();
    expect(await server.stop()).toBe(0);
    expect(performance.now() - began).toBeLessThan(20_000);
  });

  it('holds no more of a large body than it takes, and says so before the body has ended', async () => {
    const server = await startServer({ program: 'main', dataFolder: mkdtempSync(join(folder, 'data-')) });
    const { hostname, port } = new URL(server.address);
    const socket = connect(Number(port), hostname);
    socket.on('error', () => undefined);
    let answer = '';
    socket.on('data', (chunk) => {
      answer += chunk.toString();
    });
    const closed = new Promise((done) => socket.once('close', done));
    socket.write(
      `PUT /api/people/kim HTTP/1.1\r\nHost: ${hostname}\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n`,
    );
    const chunk = `10000\r\n${' '.repeat(65_536)}\r\n`;
    let sent = 0;
    while (!answer.includes('413') && sent < 1000) {
      sent += 1;
      if (!socket.write(chunk)) {
        await Promise.race([new Promise((done) => socket.once('drain', done)), closed]);
      }
      await new Promise((done) => setImmediate(done));
    }
    expect(answer).toContain('HTTP/1.1 413');
    expect(answer).toContain('application/problem+json');
    expect(answer.toLowerCase()).toContain('connection: close');
    await closed;
    expect(await server.stop()).toBe(0);
  });
});
