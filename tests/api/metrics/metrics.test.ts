import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createMetrics } from '../../../api/metrics/metrics.ts';
import { openApp, problemOf, setLimits, setUpPlant, type TestApp, widths } from '../support.ts';
import { readOpenMetrics } from './open-metrics.ts';

let app: TestApp;
beforeEach(async () => {
  app = openApp();
  await setUpPlant(app);
  await setLimits(app);
});
afterEach(() => app.close());

const get = (headers: Record<string, string> = {}, peer?: string) => {
  const request = new Request('http://127.0.0.1/metrics', { headers });
  const incoming = peer === undefined ? {} : { incoming: { socket: { remoteAddress: peer } } };
  return app.app.fetch(request, incoming as never);
};
const scrape = async () => readOpenMetrics(await (await get()).text());
async function valueAt(name: string, labels: Record<string, string> = {}): Promise<number | undefined> {
  for (const { points } of (await scrape()).values())
    for (const point of points)
      if (point.name === name && Object.entries(labels).every(([key, value]) => point.labels[key] === value))
        return point.value;
  return undefined;
}

describe('what an operator sees', () => {
  it('is OpenMetrics, by its name and by its rules, of the process too', async () => {
    const response = await get();
    expect(response.headers.get('content-type')).toBe(
      'application/openmetrics-text; version=1.0.0; charset=utf-8',
    );
    expect((await scrape()).get('runtrue_http_requests')).toMatchObject({ type: 'counter' });
    const metrics = createMetrics(app.store, { ofProcess: true });
    const families = readOpenMetrics(await metrics.text());
    metrics.end();
    for (const name of [
      'process_resident_memory_bytes',
      'nodejs_eventloop_lag_p99_seconds',
      'runtrue_alarms_open',
      'runtrue_outbox_messages',
      'runtrue_event_stream_readers',
      'runtrue_sample_judging_seconds',
    ])
      expect([...families.keys()]).toContain(name);
    expect(families.get('runtrue_database_size_bytes')!.points[0]!.value).toBeGreaterThan(10_000);
  });

  it('counts samples by door and by what became of them, and the time that judging them took', async () => {
    const sample = widths(127);
    await app.call('POST /api/samples', { body: sample });
    await app.call('POST /api/samples', { body: sample });
    await app.refused('POST /api/samples', { body: { ...widths(127), unit: 'in' } });
    expect(await valueAt('runtrue_samples_total', { door: 'api', outcome: 'accepted' })).toBe(1);
    expect(await valueAt('runtrue_samples_total', { door: 'api', outcome: 'repeated' })).toBe(1);
    expect(await valueAt('runtrue_samples_total', { door: 'api', outcome: 'refused' })).toBe(1);
    expect(await valueAt('runtrue_sample_judging_seconds_count')).toBeGreaterThanOrEqual(1);
    await app.call('POST /api/samples', { body: widths(129) });
    expect(await valueAt('runtrue_alarms_open')).toBe(1);
  });

  it('counts requests by the pattern of their address, never by the address itself', async () => {
    for (let turn = 0; turn < 30; turn++) {
      await app.fetch(new Request(`http://127.0.0.1/api/samples/${crypto.randomUUID()}`));
      await app.fetch(new Request(`http://127.0.0.1/secret-${turn}`, { method: turn % 2 ? 'GET' : 'BREW' }));
    }
    const route = '/api/samples/{id}';
    expect(await valueAt('runtrue_http_requests_total', { method: 'GET', route, status: '404' })).toBe(30);
    const text = await (await get()).text();
    expect(text).not.toMatch(/secret-|BREW|kim/i);
    const { points } = readOpenMetrics(text).get('runtrue_http_requests')!;
    expect(points.length).toBeLessThan(40);
  });

  it('knows how many listen', async () => {
    const stream = await app.fetch(new Request('http://127.0.0.1/api/stream'));
    expect(await valueAt('runtrue_event_stream_readers')).toBe(1);
    await stream.body!.cancel();
    expect(await valueAt('runtrue_event_stream_readers')).toBe(0);
    await app.fetch(new Request('http://127.0.0.1/api/stream', { method: 'HEAD' }));
    expect(await valueAt('runtrue_event_stream_readers')).toBe(0);
  });
});

describe('who may see it', () => {
  it('is this machine itself, but not what a proxy on it passes on', async () => {
    expect((await get({}, '127.0.0.1')).status).toBe(200);
    expect((await get({}, '::1')).status).toBe(200);
    expect(await problemOf(await get({}, '192.0.2.7'))).toMatchObject({ status: 401 });
    expect(await problemOf(await get({ 'X-Forwarded-For': '192.0.2.7' }, '127.0.0.1'))).toMatchObject({
      status: 401,
    });
  });

  it('is a key with that scope', async () => {
    const administrator = { id: 'ada', name: 'Ada', role: 'administrator' } as const;
    await app.call('PUT /api/people/{id}', { params: { id: 'ada' }, body: { record: administrator } });
    const keyFor = async (id: string, scope: 'read metrics' | 'read'): Promise<string> => {
      const body = { id, name: id, scopes: [scope], reach: null, expiresAt: null };
      return (await app.call('POST /api/keys', { body }, 'ada')).secret;
    };
    const scraper = await keyFor('scraper', 'read metrics');
    expect((await get({ Authorization: `Bearer ${scraper}` }, '192.0.2.7')).status).toBe(200);
    const other = await keyFor('other', 'read');
    expect(await problemOf(await get({ Authorization: `Bearer ${other}` }, '192.0.2.7'))).toMatchObject({
      status: 403,
    });
  });
});
