/** The documented example of a reverse proxy, run as it stands: nginx with TLS before the built server. */
import { type ChildProcess, execFileSync, spawn, spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { request as httpRequest, type IncomingMessage } from 'node:http';
import { request } from 'node:https';
import { type AddressInfo, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connect as connectTls, type SecureVersion } from 'node:tls';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { MAX_FILE_BYTES } from '../../api/imports/import-bounds.ts';
import { type RunningServer, startServer } from '../browser/server.ts';

const HOST = 'runtrue.example';
const ORIGIN = `https://${HOST}`;
/** Where the client comes from: not from where the proxy does. */
const CLIENT = '127.0.0.2';
const TRUSTED = '127.0.0.1';

const there = (command: string, args: string[]) => spawnSync(command, args).error === undefined;
const canRun = there('nginx', ['-v']) && there('openssl', ['version']);

const freePort = (): Promise<number> =>
  new Promise((done) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const { port } = server.address() as AddressInfo;
      server.close(() => done(port));
    });
  });

/** The example of docs/reverse-proxy.md, with ports and files of this test. */
function configuration(folder: string, ports: { https: number; http: number; server: string }): string {
  const text = readFileSync(new URL('../../docs/reverse-proxy.md', import.meta.url), 'utf8');
  let example = /```nginx\n([\s\S]*?)```/.exec(text)![1]!;
  const replaced: [string, string][] = [
    ['listen 443 ssl;', `listen 127.0.0.1:${ports.https} ssl;`],
    ['listen 80;', `listen 127.0.0.1:${ports.http};`],
    ['/etc/ssl/runtrue.pem', join(folder, 'runtrue.pem')],
    ['/etc/ssl/runtrue.key', join(folder, 'runtrue.key')],
    ['http://127.0.0.1:8080', ports.server],
  ];
  for (const [documented, here] of replaced) {
    expect(example.split(documented)).toHaveLength(2);
    example = example.replace(documented, here);
  }
  const kept = ['client_body', 'proxy', 'fastcgi', 'uwsgi', 'scgi'].map(
    (name) => `${name}_temp_path ${join(folder, name)};`,
  );
  // As root, nginx works as somebody else, who may not enter this folder.
  const user = process.getuid?.() === 0 ? 'user root;' : '';
  return `${user} daemon off; pid ${join(folder, 'pid')}; error_log ${join(folder, 'error.log')};
    events {} http { access_log off; ${kept.join(' ')}\n${example} }`;
}

describe.skipIf(!canRun)('the documented reverse proxy', () => {
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-proxy-'));
  const data = join(folder, 'data');
  let server: RunningServer;
  let nginx: ChildProcess;
  let ports: { https: number; http: number; server: string };
  let certificate: string;

  beforeAll(async () => {
    mkdirSync(data);
    execFileSync(
      'openssl',
      `req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 -subj /CN=${HOST} -addext subjectAltName=DNS:${HOST} -keyout ${folder}/runtrue.key -out ${folder}/runtrue.pem`.split(
        ' ',
      ),
      { stdio: 'pipe' },
    );
    certificate = readFileSync(join(folder, 'runtrue.pem'), 'utf8');
    const environment = { PUBLIC_URL: ORIGIN, TRUSTED_PROXIES: TRUSTED };
    server = await startServer({ program: 'main', dataFolder: data, signIn: 'on', environment });
    await vi.waitFor(() => expect(server.output()).toContain('#first='), { timeout: 30_000 });
    ports = { https: await freePort(), http: await freePort(), server: server.address };
    const file = join(folder, 'nginx.conf');
    writeFileSync(file, configuration(folder, ports));
    nginx = spawn('nginx', ['-c', file], { stdio: 'ignore' });
    await vi.waitFor(async () => expect((await ask('GET', '/api/health')).status).toBe(200), {
      timeout: 30_000,
      interval: 100,
    });
  });
  afterAll(async () => {
    nginx?.kill('SIGQUIT');
    await server?.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  const open = (
    method: string,
    path: string,
    headers: Record<string, string> = {},
    body?: string | Buffer,
  ): Promise<IncomingMessage> =>
    new Promise((done, failed) => {
      const sent = request(
        {
          host: '127.0.0.1',
          port: ports.https,
          localAddress: CLIENT,
          servername: HOST,
          // The certificate is checked, as a browser does.
          ca: certificate,
          method,
          path,
          headers: { Host: HOST, ...(method === 'GET' ? {} : { Origin: ORIGIN }), ...headers },
        },
        done,
      );
      sent.once('error', failed);
      sent.end(body);
    });
  async function ask(...parts: Parameters<typeof open>) {
    const answer = await open(...parts);
    const chunks: Buffer[] = [];
    for await (const chunk of answer) chunks.push(chunk);
    return { status: answer.statusCode, headers: answer.headers, text: Buffer.concat(chunks).toString() };
  }
  const json = { 'Content-Type': 'application/json' };
  let cookie = '';

  it('sends people who come over plain http to https, and refuses programs', async () => {
    const over = (path: string) =>
      new Promise<IncomingMessage>((done) => {
        httpRequest({ port: ports.http, path, headers: { Host: HOST } }, (answer) =>
          done(answer.resume()),
        ).end();
      });
    const { statusCode, headers } = await over('/floor');
    expect([statusCode, headers.location]).toEqual([301, `${ORIGIN}/floor`]);
    expect((await over('/api/health')).statusCode).toBe(403);
  });

  it('speaks TLS 1.2 and 1.3, and nothing older', async () => {
    const protocol = (version: SecureVersion): Promise<string | null> =>
      new Promise((done) => {
        const socket = connectTls({
          port: ports.https,
          servername: HOST,
          ca: certificate,
          minVersion: version,
          maxVersion: version,
          // This side would not speak the old ones by itself either.
          ciphers: 'DEFAULT@SECLEVEL=0',
        });
        socket.once('secureConnect', () => {
          done(socket.getProtocol());
          socket.destroy();
        });
        socket.once('error', () => done(null));
      });
    expect(await protocol('TLSv1.3')).toBe('TLSv1.3');
    expect(await protocol('TLSv1.2')).toBe('TLSv1.2');
    expect(await protocol('TLSv1.1')).toBeNull();
    expect(await protocol('TLSv1')).toBeNull();
  });

  it('serves the page and asks the browser to keep to https', async () => {
    const { status, headers, text } = await ask('GET', '/');
    expect([status, headers['content-type']]).toEqual([200, 'text/html; charset=utf-8']);
    expect(headers['strict-transport-security']).toBe('max-age=31536000; includeSubDomains');
    expect(text).toContain('<script');
  });

  it('lets people sign in, with a cookie that never travels in the clear', async () => {
    const token = /https:\/\/runtrue\.example\/sign-in#first=([\w-]+)/.exec(server.output())![1];
    const person = { id: 'boss', name: 'Bo' };
    const body = JSON.stringify({ token, person, password: 'seven quiet rollers' });
    // What a client claims about itself counts for nothing.
    const pretended = { ...json, 'X-Forwarded-For': '198.51.100.9' };
    const { status, headers, text } = await ask(
      'POST',
      '/api/one-time-links/first-administrator',
      pretended,
      body,
    );
    expect(status, text).toBe(200);
    const [line] = headers['set-cookie']!;
    expect(line).toMatch(/^__Host-runtrue-session=[\w-]{43}; .*; Secure$/);
    cookie = line!.split(';')[0]!;
    expect(JSON.parse((await ask('GET', '/api/session', { Cookie: cookie })).text).person.id).toBe('boss');
  });

  it('knows where the client is', () => {
    const database = new Database(join(data, 'plant.sqlite'), { readonly: true });
    const details = database
      .prepare("select detail from audit_notes where what = 'signed in'")
      .pluck()
      .all() as string[];
    database.close();
    expect(details.map((detail) => JSON.parse(detail).address)).toEqual([CLIENT]);
  });

  it('passes the event stream on at once', async () => {
    const stream = await open('GET', '/api/stream', { Cookie: cookie });
    expect(stream.headers['content-type']).toBe('text/event-stream');
    let text = '';
    stream.setEncoding('utf8').on('data', (part: string) => {
      text += part;
    });
    // Both are shorter than any buffer of the proxy, and the answer goes on.
    await vi.waitFor(() => expect(text).toContain(': connected'), { timeout: 20_000 });
    const body = JSON.stringify({ record: { name: 'Test works', utcOffsetMinutes: 60 } });
    expect((await ask('PUT', '/api/plant', { ...json, Cookie: cookie }, body)).status).toBe(200);
    await vi.waitFor(() => expect(text).toContain('event: plant'), { timeout: 20_000 });
    stream.destroy();
  });

  it('takes the largest file of an import with a key, and none that is larger', async () => {
    const body = JSON.stringify({
      id: 'importer',
      name: 'Importer',
      scopes: ['import samples'],
      reach: null,
      expiresAt: null,
    });
    const made = await ask('POST', '/api/keys', { ...json, Cookie: cookie }, body);
    expect(made.status, made.text).toBe(200);
    const headers = {
      Authorization: `Bearer ${JSON.parse(made.text).secret}`,
      'Content-Type': 'text/csv',
      'File-Name': 'year.csv',
    };
    const row = 'a year of values,127.0,127.1,126.9\n';
    const file = Buffer.alloc(MAX_FILE_BYTES, row);
    const taken = await ask('POST', '/api/imports', headers, file);
    expect([taken.status, JSON.parse(taken.text).bytes], taken.text.slice(0, 300)).toEqual([
      200,
      MAX_FILE_BYTES,
    ]);
    const larger = await ask('POST', '/api/imports', headers, Buffer.concat([file, Buffer.from('1')])).catch(
      // The proxy may close before everything is sent.
      ({ code }: NodeJS.ErrnoException) => ({ status: code }),
    );
    expect([413, 'EPIPE', 'ECONNRESET']).toContain(larger.status);
  });

  it('passes names on that are not this server’s, and they are refused', async () => {
    expect((await ask('GET', '/api/health', { Host: 'rebound.example' })).status).toBe(421);
  });
});
