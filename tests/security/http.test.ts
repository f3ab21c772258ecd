/**
 * What the HTTP side refuses whoever asks: foreign host names, headers that pretend, too much, too often, too slowly.
 * Against RFC 9110 (421, 429 with RFC 6585), RFC 6797 (Strict-Transport-Security only over https) and the header
 * advice of the OWASP secure headers project (from memory).
 */
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import type { ZodObject } from 'zod';
import { contract, type EndpointKey } from '../../api/contract.ts';
import { clientOf } from '../../api/http/client.ts';
import { BadSetting, outsideOf } from '../../api/http/outside.ts';
import { createRateLimiters, usualRates } from '../../api/http/rate-limits.ts';
import { MAX_FILE_BYTES } from '../../api/imports/import-bounds.ts';
import { newSecret } from '../../api/keys/secret.ts';
import { ProblemError } from '../../api/problem.ts';
import { Role } from '../../api/schemas.ts';
import { addPerson, PASSWORD, TestBrowser } from '../api/sign-in/support.ts';
import { openApp, problemOf, requestTo, setUpPlant, type TestApp } from '../api/support.ts';
import { get, type Served, serve, talk } from './served.ts';

const outside = outsideOf({
  PUBLIC_URL: 'https://runtrue.example/',
  ALLOWED_HOSTS: 'gauges.example, other.example',
  TRUSTED_PROXIES: '10.0.0.0/8, 127.0.0.1, fd00::/8',
});

let app: TestApp;
let served: Served;
beforeAll(async () => {
  app = openApp({ outside });
  await setUpPlant(app);
  // The administrator last: from then on nobody else adds people.
  for (const id of Role.options)
    await app.call('PUT /api/people/{id}', { params: { id }, body: { record: { id, name: id, role: id } } });
  served = await serve(app);
});
afterAll(async () => {
  await served.close();
  await app.close();
});

describe('settings of how the server is seen from outside', () => {
  it.each([
    [{ PUBLIC_URL: 'runtrue.example' }, 'PUBLIC_URL must be the address'],
    [{ PUBLIC_URL: 'ftp://runtrue.example' }, 'PUBLIC_URL must be the address'],
    [{ PUBLIC_URL: 'https://runtrue.example/below' }, 'PUBLIC_URL must be the address'],
    [{ ALLOWED_HOSTS: 'a.example:8080' }, 'ALLOWED_HOSTS must list host names'],
    [{ TRUSTED_PROXIES: 'proxy.example' }, 'TRUSTED_PROXIES must list IP addresses'],
    [{ TRUSTED_PROXIES: '10.0.0.0/33' }, 'TRUSTED_PROXIES must list IP addresses'],
    [{ TRUSTED_PROXIES: '10.0.0.0/' }, 'TRUSTED_PROXIES must list IP addresses'],
  ])('%j is refused in words', (environment, words) => {
    expect(() => outsideOf(environment)).toThrow(BadSetting);
    expect(() => outsideOf(environment)).toThrow(words);
  });
});

describe('the name a server is asked by', () => {
  it.each([
    'localhost',
    'localhost:8080',
    'LOCALHOST.',
    'board.localhost',
    '127.0.0.1:1',
    '[::1]:8080',
    '192.0.2.7',
    'runtrue.example',
    'Runtrue.Example:443',
    'gauges.example',
  ])('%s is its own', async (Host) => {
    expect((await get(served.port, '/api/health', { Host })).status).toBe(200);
  });

  it.each(['rebound.example', 'runtrue.example.rebound.example', '127.0.0.1.rebound.example', 'xlocalhost'])(
    '%s is not, and nothing is answered to it but why',
    async (Host) => {
      for (const path of ['/api/health', '/api/plant', '/', '/api/nothing']) {
        const { status, text, headers } = await get(served.port, path, { Host });
        expect([path, status]).toEqual([path, 421]);
        expect(headers['content-type']).toBe('application/problem+json');
        expect(JSON.parse(text)).toMatchObject({ errors: [{ field: 'Host' }] });
      }
    },
  );

  it('is asked for: a request without one, or with another in its target, is refused', async () => {
    expect(await talk(served.port, 'GET /api/health HTTP/1.1\r\nConnection: close\r\n\r\n')).toMatch(
      /^HTTP\/1\.1 400 /,
    );
    const target =
      'GET http://rebound.example/api/health HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n';
    expect(await talk(served.port, target)).toMatch(/^HTTP\/1\.1 4(?:00|21) /);
    // A header that some proxies write is not believed in its place.
    const headers = { Host: 'rebound.example', 'X-Forwarded-Host': 'localhost' };
    expect((await get(served.port, '/api/health', headers)).status).toBe(421);
  });
});

describe('the client behind proxies', () => {
  const of = (peer: string, headers: Record<string, string> = {}) =>
    clientOf(peer, new Headers(headers), outside);

  it('is the peer where no proxy is trusted', () => {
    const headers = { 'X-Forwarded-For': '198.51.100.1', 'X-Forwarded-Proto': 'https' };
    expect(of('203.0.113.5', headers)).toEqual({ address: '203.0.113.5', https: false });
    expect(clientOf('127.0.0.1', new Headers(headers), outsideOf({}))).toEqual({
      address: '127.0.0.1',
      https: false,
    });
  });

  it('is the last address that no trusted proxy has', () => {
    expect(of('10.0.0.1', { 'X-Forwarded-For': '198.51.100.1' }).address).toBe('198.51.100.1');
    // What the client itself wrote in front is passed over.
    expect(of('::ffff:10.0.0.1', { 'X-Forwarded-For': '192.0.2.1, 198.51.100.1, 10.9.9.9' }).address).toBe(
      '198.51.100.1',
    );
    expect(of('fd00::1', { 'X-Forwarded-For': '2001:db8::7' }).address).toBe('2001:db8::7');
    expect(of('10.0.0.1', { 'X-Forwarded-For': '192.0.2.1, nonsense' }).address).toBe('10.0.0.1');
    expect(of('10.0.0.1').address).toBe('10.0.0.1');
  });

  it('came over https where the proxy says so, else as the address from outside begins', () => {
    expect(of('10.0.0.1', { 'X-Forwarded-Proto': 'https' }).https).toBe(true);
    expect(of('10.0.0.1', { 'X-Forwarded-Proto': 'http' }).https).toBe(false);
    expect(of('10.0.0.1').https).toBe(true);
    expect(of('203.0.113.5').https).toBe(false);
  });
});

describe('headers of every answer', () => {
  const expected = {
    'content-security-policy': expect.stringContaining("default-src 'none'"),
    'x-content-type-options': 'nosniff',
    'referrer-policy': 'same-origin',
    'cross-origin-opener-policy': 'same-origin',
    'cross-origin-resource-policy': 'same-origin',
    'permissions-policy': expect.stringContaining('camera=()'),
    'cache-control': 'no-store',
  };

  it.each(['/api/health', '/api/plant', '/api/openapi.json', '/api/docs', '/api/nothing', '/nothing'])(
    '%s',
    async (path) => {
      const { headers } = await get(served.port, path);
      expect(headers).toMatchObject(expected);
      expect(headers['x-powered-by']).toBeUndefined();
      expect(headers.server).toBeUndefined();
    },
  );

  it('ask for https for a year once it came over https, and only then', async () => {
    const over = (scheme: string) =>
      get(served.port, '/api/health', { 'X-Forwarded-Proto': scheme, 'X-Forwarded-For': '198.51.100.1' });
    expect((await over('https')).headers['strict-transport-security']).toBe(
      'max-age=31536000; includeSubDomains',
    );
    expect((await over('http')).headers['strict-transport-security']).toBeUndefined();
  });

  it('allow no other site to read an answer', async () => {
    const { headers } = await get(served.port, '/api/plant', { Origin: 'https://elsewhere.example' });
    expect(Object.keys(headers).filter((name) => name.startsWith('access-control-'))).toEqual([]);
  });
});

describe('a request that says more than one thing', () => {
  it('by a method that no address takes, or a parameter given twice, is refused', async () => {
    for (const method of ['TRACE', 'PATCH', 'OPTIONS'])
      for (const path of ['/', '/api/plant', '/api/keys'])
        expect([path, method, (await get(served.port, path, {}, method)).status]).toEqual([
          path,
          method,
          405,
        ]);
    const { status, text } = await get(served.port, '/api/alarms?limit=1&limit=1000');
    expect([status, JSON.parse(text).errors]).toEqual([
      422,
      [{ field: 'limit', message: 'is given twice; give it once' }],
    ]);
  });
});

describe('whoever is turned away', () => {
  it('stands in the log from level info on: what they asked for and why not, and no secret', async () => {
    const watched = openApp({ logLevel: 'info', rates: { refusedKeys: 1 } });
    const secret = newSecret();
    for (const headers of [{ Authorization: `Bearer ${secret}` }, { Host: 'rebound.example' }])
      await watched.fetch(new Request('http://127.0.0.1/api/plant?streamId=secret', { headers }));
    await watched.fetch(new Request('http://127.0.0.1/api/keys'));
    const turnedAway = watched.logged.filter(({ msg }) => msg === 'turned away');
    expect(turnedAway.map(({ status, path }) => [status, path])).toEqual([
      [401, '/api/plant'],
      [421, '/api/plant'],
      [401, '/api/keys'],
    ]);
    expect(JSON.stringify(watched.logged)).not.toContain('secret');
    expect(JSON.stringify(watched.logged)).not.toContain(secret);
    await watched.close();
  });
});

describe('too much at once', () => {
  const taking = (
    Object.entries(contract) as [string, { readonly params?: ZodObject; readonly body?: unknown }][]
  ).filter(([, { body }]) => body !== undefined);

  it.each(taking)('%s takes 1 MiB and says so', async (key, { params: schema }) => {
    const others = { characteristicId: 'C5', modelId: 'Q10' };
    const number = { id: '1', ...others };
    const params = schema?.safeParse(number).success ? number : { id: randomUUID(), ...others };
    // Whoever may; all others are refused before the body is read.
    const statuses: number[] = [];
    for (const person of Role.options) {
      const request = requestTo(key as EndpointKey, { params, body: 'x' }, person);
      // As announced; what is counted while it arrives comes next.
      request.headers.set('Content-Length', String(1024 * 1024 + 1));
      const response = await app.fetch(request);
      statuses.push(response.status);
      if (response.status === 413) {
        expect(await problemOf(response)).toMatchObject({ errors: [{ field: 'body' }] });
        expect(response.headers.get('connection')).toBe('close');
      }
    }
    expect(statuses).toContain(413);
  });

  it('is counted while it arrives where the sender gives no length, for calculations and uploads as well', async () => {
    const zeros = new Uint8Array(64 * 1024).fill(48);
    const endless = (path: string, type: string) => {
      let sent = 0;
      const body = new ReadableStream<Uint8Array>({
        pull: (controller) => {
          sent += zeros.byteLength;
          controller.enqueue(zeros);
        },
      });
      const headers = { 'Content-Type': type, 'File-Name': 'x.csv', 'Runtrue-Person': 'kim' };
      const init = { method: 'POST', headers, body, duplex: 'half' } as RequestInit;
      return { request: new Request(`http://127.0.0.1${path}`, init), sent: () => sent };
    };
    const json = endless('/api/samples', 'application/json');
    expect((await app.fetch(json.request)).status).toBe(413);
    expect(json.sent()).toBeLessThan(1024 * 1024 + 4 * zeros.byteLength);
    const file = endless('/api/imports', 'text/csv');
    expect((await app.fetch(file.request)).status).toBe(413);
    expect(file.sent()).toBeLessThan(MAX_FILE_BYTES + 8 * zeros.byteLength);
  });

  it('of headers is answered with 431', async () => {
    const answer = await talk(
      served.port,
      `GET /api/health HTTP/1.1\r\nHost: localhost\r\n${`X-Much: ${'x'.repeat(1000)}\r\n`.repeat(17)}\r\n`,
    );
    expect(answer).toMatch(/^HTTP\/1\.1 431 /);
    expect(answer).toContain('application/problem+json');
  });
});

describe('too slowly', () => {
  it('sent headers or bodies are given up with 408, and others are served meanwhile', async () => {
    const limits = { headersTimeout: 400, requestTimeout: 800, connectionsCheckingInterval: 50 };
    const slow = await serve(app, limits);
    const head = 'POST /api/samples HTTP/1.1\r\nHost: localhost\r\n';
    const waiting = [
      talk(slow.port, head),
      talk(
        slow.port,
        `${head}Runtrue-Person: kim\r\nContent-Type: application/json\r\nContent-Length: 9\r\n\r\n{`,
      ),
    ];
    expect((await get(slow.port, '/api/health')).status).toBe(200);
    const [headers, body] = await Promise.all(waiting);
    expect(headers).toMatch(/^HTTP\/1\.1 408 /);
    expect(headers).toContain('application/problem+json');
    // A body that stops is refused or cut off; it is not waited for.
    expect(body).toMatch(/^(?:HTTP\/1\.1 4\d\d |$)/);
    await slow.close();
  });
});

describe('too often', () => {
  const asked = async (fetch: TestApp['fetch'], make: () => Request, times: number) => {
    const answers: Response[] = [];
    for (let count = 0; count < times; count++) answers.push(await fetch(make()));
    return answers;
  };

  it('with keys that are refused: from then on no key of that address is looked at for a minute', async () => {
    const hasty = openApp({ rates: { refusedKeys: 3 } });
    const guess = () =>
      new Request('http://127.0.0.1/api/plant', { headers: { Authorization: `Bearer ${newSecret()}` } });
    const answers = await asked(hasty.fetch, guess, 5);
    expect(answers.map(({ status }) => status)).toEqual([401, 401, 401, 429, 429]);
    expect(Number(answers[4]!.headers.get('retry-after'))).toBeGreaterThan(0);
    expect(Number(answers[4]!.headers.get('retry-after'))).toBeLessThanOrEqual(60);
    expect(await problemOf(answers[4]!)).toMatchObject({ title: 'Too many requests' });
    // People at the same address are not held up.
    expect((await hasty.fetch(new Request('http://127.0.0.1/api/plant'))).status).toBe(200);
    await hasty.close();
  });

  it('with one key: that key waits, another does not', async () => {
    const hasty = openApp({ rates: { key: 5 } });
    await setUpPlant(hasty);
    const record = { id: 'boss', name: 'Bo', role: 'administrator' } as const;
    await hasty.call('PUT /api/people/{id}', { params: { id: 'boss' }, body: { record } });
    const [first, second] = await Promise.all(
      ['one', 'two'].map((id) =>
        hasty.call(
          'POST /api/keys',
          { body: { id, name: id, scopes: ['read'], reach: null, expiresAt: null } },
          'boss',
        ),
      ),
    );
    const using = (secret: string) => () =>
      new Request('http://127.0.0.1/api/plant', { headers: { Authorization: `Bearer ${secret}` } });
    const answers = await asked(hasty.fetch, using(first!.secret), 6);
    expect(answers.map(({ status }) => status)).toEqual([200, 200, 200, 200, 200, 429]);
    expect((await problemOf(answers[5]!)).detail).toContain('key.one may send 5 requests a minute');
    expect((await hasty.fetch(using(second!.secret)())).status).toBe(200);
    await hasty.close();
  });

  it('by one person, who waits alone', async () => {
    const hasty = openApp({ signIn: true, rates: { session: 30 } });
    const boss = new TestBrowser(hasty);
    const body = {
      token: await hasty.signIn!.firstStart(),
      person: { id: 'boss', name: 'Boss' },
      password: PASSWORD,
    };
    await boss.call('POST /api/one-time-links/first-administrator', { body });
    const kim = await addPerson(boss, 'kim', 'tech');
    const statuses = (await asked(kim.send.bind(kim), () => kim.request('GET /api/plant'), 31)).map(
      ({ status }) => status,
    );
    expect([statuses.slice(0, 30).every((status) => status === 200), statuses[30]]).toEqual([true, 429]);
    const refused = await kim.refused('GET /api/plant');
    expect(refused.detail).toContain('One person may send 30 requests a minute');
    await boss.call('GET /api/plant');
    await hasty.close();
  });

  it('to where people prove who they are, whatever comes of it; other addresses go on', async () => {
    const hasty = openApp({ signIn: true, rates: { signIn: 3 } });
    const post = (path: string) => () => {
      const headers = { 'Content-Type': 'application/json', Origin: 'http://127.0.0.1' };
      return new Request(`http://127.0.0.1${path}`, { method: 'POST', headers, body: '{}' });
    };
    const visit = () => new Request('http://127.0.0.1/api/sign-in/provider/begin');
    const statuses = (await asked(hasty.fetch, post('/api/session'), 2)).map(({ status }) => status);
    expect(statuses).toEqual([422, 422]);
    expect((await hasty.fetch(visit())).status).toBe(404);
    for (const make of [post('/api/session'), post('/api/one-time-links/look'), visit]) {
      const refused = await hasty.fetch(make());
      expect(refused.status).toBe(429);
      expect(Number(refused.headers.get('retry-after'))).toBeGreaterThan(0);
    }
    expect((await hasty.fetch(new Request('http://127.0.0.1/api/health'))).status).toBe(200);
    await hasty.close();
  });

  it('from one line, however many IPv6 addresses it has', async () => {
    const limiters = createRateLimiters({ ...usualRates, signIn: 2 });
    await limiters.signIn('2001:db8:0:7::1');
    await limiters.signIn('2001:db8::7:1:2:3:4');
    await expect(limiters.signIn('2001:db8:0:7:ffff::')).rejects.toThrow(ProblemError);
    await limiters.signIn('2001:db8:0:8::1');
    await limiters.signIn('192.0.2.1');
  });

  it('and then no longer, after its minute', async () => {
    vi.useFakeTimers();
    const limiters = createRateLimiters({ ...usualRates, signIn: 1 });
    await limiters.signIn('192.0.2.1');
    await expect(limiters.signIn('192.0.2.1')).rejects.toThrow('Too many tries');
    vi.advanceTimersByTime(61_000);
    await limiters.signIn('192.0.2.1');
    vi.useRealTimers();
  });
});
