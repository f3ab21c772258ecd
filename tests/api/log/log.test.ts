import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { createLog } from '../../../api/log/create-log.ts';
import { requestIdOf } from '../../../api/log/request-log.ts';
import type { Loose } from '../assemble-app.ts';
import { openApp, requestTo, setUpPlant, type TestApp, widths } from '../support.ts';

describe('a line of the log', () => {
  const lines: string[] = [];
  const log = createLog('trace', { write: (line: string) => lines.push(line) });

  it('holds no secret, however deep one was put there', () => {
    for (const name of ['password', 'pin', 'secret', 'token', 'key', 'authorization', 'cookie', 'set-cookie'])
      log.info(
        { [name]: 'hush-1', body: { [name]: 'hush-2' }, request: { headers: { [name]: 'hush-3' } } },
        'x',
      );
    expect(lines).toHaveLength(8);
    expect(lines.join('')).not.toContain('hush');
  });

  it('tells of an error where it arose, and none of the values that a database puts into it', () => {
    const cause = Object.assign(new Error('no such row'), { detail: 'Key (name)=(Kim Novak)' });
    const error = Object.assign(new Error('duplicate', { cause }), {
      code: '23505',
      detail: 'Key (name)=(Kim Novak) already exists',
      parameters: ['Kim Novak'],
    });
    log.error({ err: error }, 'x');
    const line = JSON.parse(lines.at(-1)!);
    expect(line.err).toMatchObject({
      message: 'duplicate',
      code: '23505',
      cause: { message: 'no such row' },
    });
    expect(line.err.stack).toContain('log.test.ts');
    expect(lines.at(-1)).not.toContain('Novak');
  });
});

describe('the id of a request', () => {
  const trace = '4bf92f3577b34da6a3ce929d0e0e4736';
  it.each([
    [{ 'X-Request-Id': 'order-17.a' }, 'order-17.a'],
    [{ traceparent: `00-${trace}-00f067aa0ba902b7-01` }, trace],
    [{ 'X-Request-Id': 'mine', traceparent: `00-${trace}-00f067aa0ba902b7-01` }, 'mine'],
    [{ 'X-Request-Id': 'a b', traceparent: `00-${trace}-00f067aa0ba902b7-01` }, trace],
  ] as const)('%j is %s', (headers, id) => {
    expect(requestIdOf(new Headers(headers))).toBe(id);
  });
  it.each([
    {},
    { 'X-Request-Id': 'x'.repeat(65) },
    { 'X-Request-Id': '"}{"' },
    { traceparent: `00-${'0'.repeat(32)}-00f067aa0ba902b7-01` },
    { traceparent: `ff-${trace}-00f067aa0ba902b7-01` },
  ])('%j is made anew', (headers) => {
    expect(requestIdOf(new Headers(headers as Record<string, string>))).toMatch(/^[\da-f]{8}-[\da-f-]{27}$/);
  });
});

describe('the log of requests', () => {
  let app: TestApp;
  beforeEach(async () => {
    app = openApp({ logLevel: 'trace' });
    // Each of its requests is a line of this log.
    await setUpPlant({ call: async (key, sent, person) => app.fetch(requestTo(key, sent as Loose, person)) });
    app.logged.length = 0;
  });
  afterEach(() => app.close());

  it('tells of each answer under the id that its sender got back', async () => {
    const request = requestTo('POST /api/samples', { body: { ...widths(127), note: 'private words' } });
    request.headers.set('X-Request-Id', 'gauge-7');
    const response = await app.fetch(request);
    expect(response.headers.get('x-request-id')).toBe('gauge-7');
    expect(app.logged.at(-1)).toMatchObject({
      requestId: 'gauge-7',
      method: 'POST',
      path: '/api/samples',
      status: 200,
      milliseconds: expect.any(Number),
      msg: 'request',
    });
    expect(JSON.stringify(app.logged)).not.toContain('private words');
  });

  it('leaves out what stands behind the question mark, in headers and in bodies', async () => {
    const address = 'http://127.0.0.1/api/alarms?open=hush';
    const headers = { Authorization: 'Bearer hush', Cookie: 'runtrue-session=hush' };
    expect((await app.fetch(new Request(address, { headers }))).status).toBeGreaterThanOrEqual(400);
    const body = { personId: 'kim', password: 'hush' };
    await app.fetch(requestTo('POST /api/session', { body }));
    expect(app.logged.length).toBeGreaterThan(1);
    expect(JSON.stringify(app.logged)).not.toContain('hush');
  });

  it('has the id with an unforeseen error too', async () => {
    const failing = vi.spyOn(app.store, 'sampleCount').mockRejectedValue(new Error('fire'));
    const request = requestTo('GET /api/health');
    request.headers.set('X-Request-Id', 'r-1');
    expect((await app.fetch(request)).status).toBe(500);
    failing.mockRestore();
    const errors = app.logged.filter(({ level }) => level === 50);
    expect(errors).toMatchObject([{ requestId: 'r-1', msg: 'unforeseen error', err: { message: 'fire' } }]);
  });
});
