/**
 * Keys of programs, over HTTP. The refusals are held against RFC 6750 sections 2.1 and 3.1 (Bearer tokens) and
 * RFC 9110 section 15.5.2 (every 401 carries WWW-Authenticate).
 */
import { createHash } from 'node:crypto';
import { crc32 } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { contract, type EndpointKey } from '../../../api/contract.ts';
import { isWellFormed, newSecret } from '../../../api/keys/secret.ts';
import { roleMay } from '../../../api/permissions.ts';
import { KeyScope, type NewApiKey, Role } from '../../../api/schemas.ts';
import { openApp, problemOf, requestTo, setUpPlant, type TestApp, widths } from '../support.ts';

const DAY = 86_400_000;

let app: TestApp;
beforeAll(async () => {
  app = openApp();
  await setUpPlant(app);
  await app.call('PUT /api/people/{id}', {
    params: { id: 'boss' },
    body: { record: { id: 'boss', name: 'Bo', role: 'administrator' } },
  });
});
afterAll(() => app.close());

let made = 0;
const make = async (wanted: Partial<NewApiKey> = {}) => {
  made += 1;
  const body: NewApiKey = {
    id: `gauge-${made}`,
    name: 'Width fixture',
    scopes: ['read', 'enter samples'],
    reach: null,
    expiresAt: null,
    ...wanted,
  };
  return app.call('POST /api/keys', { body }, 'boss');
};

/** A request with a key and nothing else. */
const withKey = (secret: string, key: EndpointKey, sent: Parameters<typeof requestTo>[1] = {}): Request => {
  const request = requestTo(key, sent, null);
  request.headers.set('Authorization', `Bearer ${secret}`);
  return request;
};
const send = (...parts: Parameters<typeof withKey>): Promise<Response> => app.fetch(withKey(...parts));

describe('the secret', () => {
  it('has 256 random bits, a prefix to find it by, and a checksum that catches every single mistyped sign', () => {
    const secret = newSecret();
    expect(secret).toMatch(/^runtrue_[0-9a-f]{64}[0-9a-f]{8}$/);
    // The checksum as anybody can compute it: CRC-32 of ISO 3309 over all that stands before it.
    expect(Number.parseInt(secret.slice(-8), 16)).toBe(crc32(secret.slice(0, -8)));
    expect(isWellFormed(secret)).toBe(true);
    for (let at = 0; at < secret.length; at++) {
      const other = secret[at] === '0' ? '1' : '0';
      expect(isWellFormed(secret.slice(0, at) + other + secret.slice(at + 1))).toBe(false);
    }
    expect(new Set(Array.from({ length: 100 }, newSecret)).size).toBe(100);
  });

  it('is shown once; the database holds its SHA-256 and nothing of it', async () => {
    const { key, secret } = await make();
    const listed = await app.call('GET /api/keys', undefined, 'boss');
    expect(listed).toContainEqual(key);
    expect(JSON.stringify(listed)).not.toContain(secret.slice(8, 40));
    const stored = await app.store.sql.one<{ digest: Buffer }>('select * from api_keys where id = ?', key.id);
    expect(stored!.digest.toString('hex')).toBe(createHash('sha256').update(secret).digest('hex'));
    const others = Object.entries(stored!).filter(([name]) => name !== 'digest');
    expect(JSON.stringify(others)).not.toContain(secret.slice(8, 40));
    const notes = await app.store.sql.all<object>('select * from audit_notes');
    expect(JSON.stringify(notes)).not.toContain(secret.slice(8, 40));
  });

  it('is made and seen by administrators only', async () => {
    for (const key of ['GET /api/keys', 'POST /api/keys', 'POST /api/keys/{id}/revocation'] as const)
      expect((await app.refused(key, { params: { id: 'key.none' } }, 'kim')).status).toBe(403);
    expect(Role.options.filter((role) => roleMay(role, 'manage keys'))).toEqual(['administrator']);
  });
});

describe('a key', () => {
  it('enters samples, and the record names the key', async () => {
    const { key, secret } = await make();
    const sample = widths(127);
    expect((await send(secret, 'POST /api/samples', { body: sample })).status).toBe(200);
    const history = await app.call('GET /api/samples/{id}', { params: { id: sample.id } });
    expect(history.sample).toMatchObject({ personId: key.id, door: 'api' });
    expect(history.revisions[0]).toMatchObject({ personId: key.id });
    // Neither can a person who is named beside the key take its place.
    const request = withKey(secret, 'POST /api/samples', { body: widths(127) });
    request.headers.set('Runtrue-Person', 'kim');
    const { personId } = (await app.fetch(request).then((response) => response.json())).sample ?? {};
    expect(personId).not.toBe('kim');
  });

  it('imports a file, and every sample names the key', async () => {
    const { key, secret } = await make({ scopes: ['read', 'import samples'] });
    const csv = 'time,a,b,c,d,e\n2025-09-03 09:00,127.0,127.1,126.9,127.0,127.2\n';
    const upload = new Request('http://127.0.0.1/api/imports', {
      method: 'POST',
      headers: {
        Authorization: `Bearer ${secret}`,
        'Content-Type': 'text/csv',
        'File-Name': 'shift.csv',
      },
      body: csv,
    });
    const file = await (await app.fetch(upload)).json();
    const mapping = {
      shape: file.shape,
      streamId: 'C5-R1',
      modelId: 'Q10',
      unit: 'mm',
      layout: { form: 'wide', valueColumns: [1, 2, 3, 4, 5] },
      time: { from: 'column', column: 0, format: 'yyyy-MM-dd HH:mm' },
      lotColumn: null,
    };
    const committed = await send(secret, 'POST /api/imports/{id}/commit', {
      params: { id: file.id },
      body: mapping,
    });
    expect(await committed.json()).toMatchObject({ total: 1, problem: null });
    await vi.waitFor(async () => {
      const progress = await (
        await send(secret, 'GET /api/imports/{id}', { params: { id: file.id } })
      ).json();
      expect(progress.state).toBe('done');
    });
    const rows = await app.store.sql.all<{ personId: string }>(
      `select person_id as "personId" from samples where door = 'import'`,
    );
    expect(rows).toEqual([{ personId: key.id }]);
  });

  it('does only what it was made for: every endpoint with every scope', async () => {
    for (const scope of KeyScope.options) {
      const { secret } = await make({ scopes: [scope] });
      for (const [key, { action }] of Object.entries(contract)) {
        const method = key.split(' ')[0]!;
        const response = await send(secret, key as EndpointKey, {
          params: { id: 'none', characteristicId: 'none', modelId: 'none' },
          ...(method === 'GET' ? {} : { body: {} }),
        });
        const may = action === 'come in' || action === scope;
        expect(`${key}: ${response.status === 403}`).toBe(`${key}: ${!may}`);
        expect(response.status).not.toBe(401);
        if (may) await response.body?.cancel();
        else {
          expect(response.headers.get('www-authenticate')).toBe(
            `Bearer realm="Runtrue", error="insufficient_scope", scope="${action}"`,
          );
          expect((await problemOf(response)).detail).toContain(`may not ${action}`);
        }
      }
    }
  });

  it('never takes a person’s judgement, whatever is asked for', async () => {
    for (const scope of ['freeze control limits', 'correct samples', 'close alarms', 'manage keys']) {
      const body = { id: 'too-much', name: 'x', scopes: [scope], reach: null, expiresAt: null };
      const { status, errors } = await app.refused('POST /api/keys', { body }, 'boss');
      expect([status, errors[0]!.field]).toEqual([422, 'scopes.0']);
    }
  });

  it('is known by the day it was last used', async () => {
    const { key, secret } = await make();
    const lastUsedOn = async () =>
      (await app.call('GET /api/keys', undefined, 'boss')).find(({ id }) => id === key.id)!.lastUsedOn;
    expect(await lastUsedOn()).toBeNull();
    await send(secret, 'GET /api/plant');
    await vi.waitFor(async () => expect(await lastUsedOn()).toBe('2025-09-03'));
    const before = app.clock.time;
    // 23:10 in UTC is the next day in the plant.
    app.clock.time = Date.parse('2025-09-05T23:10:00Z');
    await send(secret, 'GET /api/plant');
    await vi.waitFor(async () => expect(await lastUsedOn()).toBe('2025-09-06'));
    app.clock.time = before;
  });
});

describe('a key that is refused', () => {
  const refusedFor = async (header: string) => {
    const request = requestTo('GET /api/plant', {}, null);
    request.headers.set('Authorization', header);
    const response = await app.fetch(request);
    return { challenge: response.headers.get('www-authenticate'), ...(await problemOf(response)) };
  };
  const invalid = 'Bearer realm="Runtrue", error="invalid_token"';

  it('says whether it is cut short or unknown', async () => {
    const { secret } = await make();
    expect(await refusedFor(`Bearer ${secret.slice(0, -1)}`)).toMatchObject({
      status: 401,
      challenge: invalid,
      detail: expect.stringContaining('copy it again'),
      errors: [{ field: 'Authorization' }],
    });
    expect(await refusedFor(`Bearer ${newSecret()}`)).toMatchObject({
      status: 401,
      challenge: invalid,
      detail: expect.stringContaining('not known here'),
    });
    expect(await refusedFor('Bearer')).toMatchObject({
      status: 400,
      challenge: 'Bearer realm="Runtrue", error="invalid_request"',
    });
    // The scheme is not case-sensitive (RFC 9110 section 11.1).
    const request = requestTo('GET /api/plant', {}, null);
    request.headers.set('Authorization', `bearer ${secret}`);
    expect((await app.fetch(request)).status).toBe(200);
  });

  it('was revoked a moment ago', async () => {
    const { key, secret } = await make();
    const sample = { body: widths(127) };
    expect((await send(secret, 'POST /api/samples', sample)).status).toBe(200);
    const params = { id: key.id };
    const body = { reason: 'The gauge was scrapped' };
    const revoked = await app.call('POST /api/keys/{id}/revocation', { params, body }, 'boss');
    expect(revoked).toMatchObject({ revokedBy: 'boss', revokedAt: '2025-09-03T08:05:00.000Z' });
    expect(await problemOf(await send(secret, 'POST /api/samples', sample))).toMatchObject({
      status: 401,
      detail: `The key ${key.id} was revoked on 2025-09-03T08:05:00.000Z; ask for another one.`,
    });
    // Once more changes nothing; the note of it is in the record.
    expect(await app.call('POST /api/keys/{id}/revocation', { params, body }, 'boss')).toEqual(revoked);
    const notes = await app.store.sql.all<{ what: string; detail: string }>(
      'select what, detail from audit_notes where about = ? order by no',
      key.id,
    );
    expect(notes.map(({ what }) => what)).toEqual(['key made', 'key revoked']);
    expect(notes[1]!.detail).toContain('scrapped');
    const unknown = await app.refused(
      'POST /api/keys/{id}/revocation',
      { params: { id: 'key.x' }, body },
      'boss',
    );
    expect(unknown.status).toBe(404);
  });

  it('was revoked while it listened to changes', async () => {
    vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval'] });
    const { key, secret } = await make();
    const request = new Request('http://127.0.0.1/api/stream', {
      headers: { Authorization: `Bearer ${secret}` },
    });
    const reader = (await app.fetch(request)).body!.pipeThrough(new TextDecoderStream()).getReader();
    expect((await reader.read()).value).toContain('connected');
    const body = { reason: 'Lost' };
    await app.call('POST /api/keys/{id}/revocation', { params: { id: key.id }, body }, 'boss');
    await vi.advanceTimersByTimeAsync(30_000);
    vi.useRealTimers();
    let last = await reader.read();
    while (!last.done) last = await reader.read();
    expect(last.done).toBe(true);
  });

  it('expired', async () => {
    const expiresAt = new Date(app.clock.time + DAY).toISOString();
    const { secret } = await make({ expiresAt });
    expect((await send(secret, 'GET /api/plant')).status).toBe(200);
    app.clock.time += DAY;
    expect(await problemOf(await send(secret, 'GET /api/plant'))).toMatchObject({
      status: 401,
      detail: expect.stringContaining(`expired on ${expiresAt}`),
    });
    app.clock.time -= DAY;
  });

  it('cannot be made with an end that is past, a name that is taken or a place that is not there', async () => {
    const { key } = await make();
    const wanted = { name: 'x', scopes: ['read'], reach: null, expiresAt: null };
    const refused = (body: object) =>
      app.refused('POST /api/keys', { body: { id: 'another', ...wanted, ...body } }, 'boss');
    expect(await refused({ id: key.id.slice(4) })).toMatchObject({ status: 409, errors: [{ field: 'id' }] });
    expect(await refused({ expiresAt: '2025-01-01T00:00:00Z' })).toMatchObject({
      status: 422,
      errors: [{ field: 'expiresAt' }],
    });
    expect(await refused({ reach: { lines: ['R9'], streams: [] } })).toMatchObject({
      status: 404,
      errors: [{ field: 'reach.lines.0' }],
    });
    expect(await refused({ reach: { lines: [], streams: [] } })).toMatchObject({
      status: 422,
      errors: [{ field: 'reach.lines' }],
    });
  });

  it('cannot be made twice, however many ask at once', async () => {
    const body = { id: 'twice', name: 'x', scopes: ['read'], reach: null, expiresAt: null };
    const answers = await Promise.all(
      Array.from({ length: 5 }, () => app.fetch(requestTo('POST /api/keys', { body }, 'boss'))),
    );
    expect(answers.map(({ status }) => status).sort()).toEqual([200, 409, 409, 409, 409]);
  });

  it('cannot be passed off as a person', async () => {
    const record = { id: 'key.gauge-1', name: 'x', role: 'tech' };
    const refused = await app.refused(
      'PUT /api/people/{id}',
      { params: { id: record.id }, body: { record } },
      'boss',
    );
    expect(refused).toMatchObject({ status: 422, errors: [{ field: 'record.id' }] });
  });
});

describe('a key that is only for some streams', () => {
  const scopes = KeyScope.options;
  const event = {
    id: '3b1f5f4e-0c1a-4a59-8f0c-000000000001',
    kind: 'note',
    text: 'Coil changed by the crane',
    stationId: null,
    streamId: null,
    until: null,
    modelId: null,
    lot: null,
  };
  const at = '2025-09-03T10:00:00+02:00';

  it('reaches these, and nothing that goes further', async () => {
    const { key, secret } = await make({ scopes, reach: { lines: [], streams: ['C5-R1'] } });
    expect((await send(secret, 'POST /api/samples', { body: widths(127) })).status).toBe(200);
    expect((await send(secret, 'GET /api/plant')).status).toBe(200);
    const query = { streamId: 'C5-R1', modelId: 'Q10' };
    expect((await send(secret, 'GET /api/limits', { query })).status).toBe(200);
    expect(await (await send(secret, 'GET /api/alarms', { query: { streamId: 'C5-R1' } })).json()).toEqual(
      [],
    );

    const other = await problemOf(
      await send(secret, 'POST /api/samples', { body: { ...widths(127), streamId: 'C6-R1' } }),
    );
    expect(other).toMatchObject({
      status: 403,
      detail: `The key ${key.id} is only for stream C5-R1, not for stream "C6-R1".`,
    });
    expect(await problemOf(await send(secret, 'GET /api/alarms'))).toMatchObject({
      status: 403,
      detail: expect.stringContaining('reaches further'),
    });
    // The line itself is not the key's, unless the request is about its stream on that line.
    const events = { lineId: 'R1', from: at, to: at };
    expect((await send(secret, 'GET /api/events', { query: events })).status).toBe(403);
  });

  it('reaches all streams of its line, and no other line', async () => {
    const { key, secret } = await make({ scopes, reach: { lines: ['R1'], streams: [] } });
    const query = { streamId: 'C6-R1', modelId: 'Q10' };
    expect((await send(secret, 'GET /api/limits', { query })).status).toBe(200);
    const body = { ...event, lineId: 'R1', at };
    const kept = await send(secret, 'POST /api/events', { body });
    expect(kept.status, await kept.clone().text()).toBe(200);
    const period = { lineId: 'R1', from: at, to: at };
    const events = await (await send(secret, 'GET /api/events', { query: period })).json();
    expect(events).toMatchObject([{ id: event.id, personId: key.id }]);
    expect((await send(secret, 'POST /api/events', { body: { ...body, lineId: 'R2' } })).status).toBe(403);
    expect(
      (await send(secret, 'POST /api/events', { body: { ...body, lineId: 'R2', streamId: 'C5-R1' } })).status,
    ).toBe(403);
  });

  it('gets no answer about the whole plant from any address but the few that name no stream', async () => {
    const { secret } = await make({ scopes, reach: { lines: [], streams: ['C5-R1'] } });
    const got: string[] = [];
    const params = { id: '3b1f5f4e-0c1a-4a59-8f0c-000000000002', characteristicId: 'C5', modelId: 'Q10' };
    for (const key of Object.keys(contract) as EndpointKey[]) {
      if (!key.startsWith('GET') || contract[key].action === 'come in') continue;
      const response = await send(secret, key, { params });
      await response.body?.cancel();
      if (response.ok || response.status === 404) got.push(key);
    }
    expect(got.sort()).toEqual(['GET /api/calculations', 'GET /api/imports/{id}', 'GET /api/plant']);
    // The doors beside the contract, whichever there are.
    const get = async (path: string): Promise<number> => {
      const headers = { Authorization: `Bearer ${secret}`, 'X-Forwarded-For': '192.0.2.1' };
      const response = await app.fetch(new Request(`http://127.0.0.1${path}`, { headers }));
      await response.body?.cancel();
      return response.status;
    };
    const open = ['/api/docs', '/api/openapi.json', '/api/sign-in/'];
    const doors = app.app.routes
      .filter(
        ({ method, path }) => method === 'GET' && !(`GET ${path.replace(/:(\w+)/g, '{$1}')}` in contract),
      )
      .map(({ path }) => path)
      .filter((path) => !open.some((start) => path.startsWith(start)));
    expect(doors).toEqual(expect.arrayContaining(['/api/stream', '/api/export.csv', '/metrics']));
    const refused: Record<string, number> = {};
    for (const path of doors)
      refused[path] = await get(path === '/api/export.csv' ? `${path}?streamId=C6-R1&modelId=Q10` : path);
    expect(refused).toEqual(Object.fromEntries(doors.map((path) => [path, 403])));
    expect(await get('/api/export.csv?streamId=C5-R1&modelId=Q10')).toBe(200);
  });
});
