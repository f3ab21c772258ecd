import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { contract } from '../../api/contract.ts';
import { honoPath } from '../../api/http/handle.ts';
import { StatisticsError } from '../../src/errors.ts';
import { openApp, requestTo, setUpPlant, type TestApp, widths } from './support.ts';

let app: TestApp;
const web = mkdtempSync(join(tmpdir(), 'runtrue-web-'));
beforeAll(async () => {
  writeFileSync(join(web, 'index.html'), '<!doctype html><title>Runtrue</title>');
  app = openApp({ webFolder: web });
  await setUpPlant(app);
});
afterAll(async () => {
  await app.close();
  rmSync(web, { recursive: true });
});
const get = (path: string, headers: Record<string, string> = {}) =>
  app.fetch(new Request(`http://127.0.0.1${path}`, { headers }));

describe('the app', () => {
  it('registers every endpoint of the contract, its own doors, and nothing else under /api', () => {
    const registered = app.app.routes
      .filter(({ method, path }) => method !== 'ALL' && path.startsWith('/api'))
      .map(({ method, path }) => `${method} ${path}`);
    const asked = Object.keys(contract).map((key) => {
      const [method, path] = key.split(' ') as [string, string];
      return `${method} ${honoPath(path)}`;
    });
    const doors = [
      'POST /api/imports',
      'POST /api/calculations/:name',
      'GET /api/export.csv',
      'GET /api/alarm-report.csv',
      'GET /api/backup',
      'GET /api/stream',
      'GET /api/openapi.json',
      'GET /api/docs',
      'GET /api/sign-in/provider/begin',
      'GET /api/sign-in/provider/callback',
    ];
    expect(registered.sort()).toEqual([...asked, ...doors].sort());
  });

  it('tells its health, its clock and what it holds', async () => {
    expect(await app.call('GET /api/health')).toEqual({
      status: 'ok',
      now: '2025-09-03T08:05:00.000Z',
      version: '0.0.0-test',
      demo: false,
      samples: 0,
    });
  });

  it('protects the page and the API by headers', async () => {
    for (const path of ['/', '/api/health', '/api/docs', '/api/nothing']) {
      const { headers } = await get(path);
      expect(headers.get('x-content-type-options')).toBe('nosniff');
      expect(headers.get('referrer-policy')).toBe('same-origin');
      expect(headers.get('content-security-policy')).toContain("default-src 'none'");
      expect(headers.get('content-security-policy')).not.toContain('unsafe');
    }
  });

  it('serves the page at its addresses and the description of the API', async () => {
    expect(await (await get('/floor')).text()).toContain('<title>Runtrue</title>');
    const docs = await get('/api/docs');
    expect(docs.headers.get('content-type')).toContain('text/html');
    expect(docs.headers.get('content-security-policy')).toMatch(/style-src 'sha256-[\w+/=]+'/);
    const document = await (await get('/api/openapi.json')).json();
    expect(document).toMatchObject({ openapi: '3.1.0', info: { version: '0.0.0-test' } });
  });

  it('compresses long answers and leaves the stream alone', async () => {
    const long = await get('/api/openapi.json', { 'Accept-Encoding': 'gzip' });
    expect(long.headers.get('content-encoding')).toBe('gzip');
    const short = await get('/api/health', { 'Accept-Encoding': 'gzip' });
    expect(short.headers.get('content-encoding')).toBeNull();
    const stream = await get('/api/stream', { 'Accept-Encoding': 'gzip' });
    expect(stream.headers.get('content-encoding')).toBeNull();
    await stream.body!.cancel();
  });

  it('answers HEAD as GET without a body', async () => {
    const response = await app.fetch(new Request('http://127.0.0.1/api/health', { method: 'HEAD' }));
    expect(response.status).toBe(200);
    expect(await response.text()).toBe('');
  });

  it('begins no download for HEAD that would fail later', async () => {
    await app.call('POST /api/samples', { body: widths(127) });
    const url = 'http://127.0.0.1/api/export.csv?streamId=C5-R1&modelId=Q10';
    expect((await app.fetch(new Request(url, { method: 'HEAD' }))).status).toBe(200);
    await new Promise((done) => setTimeout(done, 50));
    expect(app.logged).toEqual([]);
  });

  it('tells an open board of a change after it is stored', async () => {
    const stream = await get('/api/stream');
    const reader = stream.body!.pipeThrough(new TextDecoderStream()).getReader();
    const sample = widths(127);
    await app.call('POST /api/samples', { body: sample });
    let text = '';
    while (!/event: sample\ndata: .*\n\n/.test(text)) text += (await reader.read()).value;
    expect(text).toContain(`data: {"kind":"sample","streamId":"C5-R1","sampleId":"${sample.id}"}`);
    await reader.cancel();
  });
});

describe('who acts', () => {
  it.each([
    [null, 'send the header Runtrue-Person with the id of a person'],
    ['nobody', 'names "nobody", but there is no such person'],
  ])('refuses %j and says how to sign', async (person, words) => {
    const problem = await app.refused('POST /api/samples', { body: widths(127) }, person);
    expect(problem).toMatchObject({ status: 401, errors: [{ field: 'Runtrue-Person' }] });
    expect(problem.detail).toContain(words);
  });

  it('knows the page by its origin', async () => {
    const doorOf = async (headers: Record<string, string>) => {
      const sample = widths(127);
      const request = requestTo('POST /api/samples', { body: sample });
      for (const [name, value] of Object.entries(headers)) request.headers.set(name, value);
      expect((await app.fetch(request)).status).toBe(200);
      return (await app.call('GET /api/samples/{id}', { params: { id: sample.id } })).sample.door;
    };
    expect(await doorOf({})).toBe('api');
    expect(await doorOf({ Host: 'localhost:8080', Origin: 'http://localhost:8080' })).toBe('page');
    expect(await doorOf({ Host: 'localhost:8080', Origin: 'http://elsewhere.local' })).toBe('api');
  });
});

describe('what goes wrong inside', () => {
  it('becomes 500 with a reference to the log, without a stack', async () => {
    const failing = vi.spyOn(app.store, 'sampleCount').mockRejectedValue(new Error('the disk is on fire'));
    const problem = await app.refused('GET /api/health');
    failing.mockRestore();
    expect(problem).toMatchObject({ status: 500, errors: [] });
    expect(problem.detail).not.toContain('fire');
    const logged = app.logged.at(-1)!;
    expect(problem.detail).toContain(logged.reference);
    expect(logged).toMatchObject({
      method: 'GET',
      path: '/api/health',
      err: { message: 'the disk is on fire' },
    });
  });

  it('names the argument of a calculation that refuses', async () => {
    const failing = vi
      .spyOn(app.store, 'sampleCount')
      .mockRejectedValue(new StatisticsError('limits-reversed', 'runningHours.end', '05:00'));
    const problem = await app.refused('GET /api/health');
    failing.mockRestore();
    expect(problem).toMatchObject({ status: 422, errors: [{ field: 'runningHours.end' }] });
  });
});
