import { randomUUID } from 'node:crypto';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { contract, type EndpointKey } from '../../api/contract.ts';
import { forgetResults, once } from '../../api/idempotency/idempotency.ts';
import { keepRefused } from '../../api/mqtt/refused-measurements.ts';
import { addDelivery, markFailed } from '../../api/notify/deliveries.ts';
import { ProblemError } from '../../api/problem.ts';
import { ImportFile, type ImportProgress } from '../../api/schemas.ts';
import type { Store } from '../../api/store/store.ts';
import { newDatabase } from '../store/engines.ts';
import type { Loose } from './assemble-app.ts';
import {
  openApp,
  problemOf,
  requestTo,
  secondSignature,
  setLimits,
  setUpPlant,
  start,
  type TestApp,
  widths,
} from './support.ts';

let app: TestApp;
async function begin(): Promise<void> {
  app = openApp();
  await setUpPlant(app);
}
const end = () => app.close();

const limits = (mean = 127) => ({
  streamId: 'C5-R1',
  modelId: 'Q10',
  status: 'approved' as const,
  source: { kind: 'given' as const, mean, withinSubgroupStandardDeviation: 0.18 },
  effectiveFrom: '2025-09-02T00:00:00+02:00',
  reason: 'Machine study of August',
  secondSignature,
});

function send(endpoint: EndpointKey, sent: Loose, key: string | null, person = 'kim'): Promise<Response> {
  const request = requestTo(endpoint, sent, person);
  if (key !== null) request.headers.set('Idempotency-Key', key);
  return app.fetch(request);
}
const freeze = (key: string | null, body: object = limits(), person = 'kim') =>
  send('POST /api/limits', { body }, key, person);
const versions = async () => (await app.store.limitsVersions('C5-R1', 'Q10')).length;

const newKey = {
  id: 'fixture-3',
  name: 'Fixture 3',
  scopes: ['enter samples' as const],
  reach: null,
  expiresAt: null,
};
const becomeAdministrator = () =>
  app.call('PUT /api/people/{id}', {
    params: { id: 'kim' },
    body: { record: { id: 'kim', name: 'Kim', role: 'administrator' }, reason: 'Tried' },
  });

describe('a write under a key', () => {
  beforeEach(begin);
  afterEach(end);

  it('is carried out once under one key, and answered alike every time', async () => {
    const key = `"${randomUUID()}"`;
    const first = await freeze(key);
    expect(first.status).toBe(200);
    const text = await first.text();
    for (let turn = 0; turn < 3; turn++) expect(await (await freeze(key)).text()).toBe(text);
    expect(await versions()).toBe(1);
    await freeze(null);
    await freeze(`"${randomUUID()}"`);
    expect(await versions()).toBe(3);
  });

  it('refuses another request under the key: another body, another second signature, another address', async () => {
    const key = randomUUID();
    await app.call('PUT /api/people/{id}', {
      params: { id: 'quirin' },
      body: { record: { id: 'quirin', name: 'Quirin', role: 'quality-manager' } },
    });
    await freeze(key);
    for (const another of [
      freeze(key, limits(127.1)),
      freeze(key, { ...limits(), secondSignature: { personId: 'quirin' } }),
      send('POST /api/samples', { body: widths(127) }, key),
    ])
      expect(await problemOf(await another)).toMatchObject({
        status: 422,
        errors: [{ field: 'Idempotency-Key' }],
      });
    expect(await versions()).toBe(1);
    expect(await app.store.sampleCount()).toBe(0);
  });

  it('belongs to its sender: the same key of somebody else is another one', async () => {
    const key = randomUUID();
    await app.call('PUT /api/people/{id}', {
      params: { id: 'kit' },
      body: { record: { id: 'kit', name: 'Kit', role: 'engineer' } },
    });
    expect((await freeze(key)).status).toBe(200);
    expect((await freeze(key, limits(), 'kit')).status).toBe(200);
    expect(await versions()).toBe(2);
  });

  it('sent many times at once is carried out once, and each gets its answer', async () => {
    const key = randomUUID();
    const answers = await Promise.all(Array.from({ length: 20 }, () => freeze(key)));
    const texts = await Promise.all(answers.map((answer) => answer.text()));
    expect(answers.map(({ status }) => status)).toEqual(answers.map(() => 200));
    expect(new Set(texts).size).toBe(1);
    expect(await versions()).toBe(1);
  });

  it('that was refused may be mended and sent again under its key', async () => {
    const key = randomUUID();
    expect((await freeze(key, limits(Number.MAX_SAFE_INTEGER))).status).toBe(422);
    expect((await freeze(key, { ...limits(), streamId: 'none' })).status).toBe(404);
    expect((await freeze(key)).status).toBe(200);
  });

  it('whose server fails before the commit is done by the next one at once', async () => {
    const key = randomUUID();
    const { transaction } = app.store;
    const failing = vi.spyOn(app.store, 'transaction').mockImplementation((work, streams) =>
      transaction.call(
        app.store,
        async (inside) => {
          await work(inside);
          throw new ProblemError(503, 'Not stored', 'The disk is full.');
        },
        streams,
      ),
    );
    expect((await freeze(key)).status).toBe(503);
    failing.mockRestore();
    expect(await versions()).toBe(0);
    expect((await freeze(key)).status).toBe(200);
    expect(await versions()).toBe(1);
  });

  it('is forgotten after a day, and its row with it', async () => {
    const key = randomUUID();
    await freeze(key);
    app.clock.time += 24 * 3_600_000 - 1;
    await freeze(key);
    expect(await versions()).toBe(1);
    app.clock.time += 2;
    await freeze(key);
    expect(await versions()).toBe(2);
    // From now on it is the second one's.
    app.clock.time += 24 * 3_600_000 - 1;
    await freeze(key);
    expect(await versions()).toBe(2);
    app.clock.time += 2;
    await app.store.transaction(({ sql }) => forgetResults(sql, app.clock.time));
    expect(await app.store.sql.all('select name from idempotency_keys')).toEqual([]);
  });

  it.each(['', '"', '"a', 'a b', '"\u00e9"', 'x'.repeat(256)])('refuses the key %j', async (key) => {
    const problem = await problemOf(await freeze(key));
    expect(problem).toMatchObject({ status: 422, errors: [{ field: 'Idempotency-Key' }] });
    expect(await versions()).toBe(0);
  });

  it('is refused where the answer shows a secret, which is not kept', async () => {
    await becomeAdministrator();
    const problem = await problemOf(await send('POST /api/keys', { body: newKey }, 'a'));
    expect(problem).toMatchObject({ status: 422, errors: [{ field: 'Idempotency-Key' }] });
  });
});

describe('two servers with one key', () => {
  it('do the work once: who comes second waits, and gets what the first one did', async () => {
    const database = newDatabase();
    const stores = [database.open(), database.open()];
    const key = { who: 'kim', name: 'a', fingerprint: Buffer.from('same'), at: start };
    let done = 0;
    const attempt = (store: Store) =>
      store.transaction(
        ({ sql }) =>
          once(sql, key, async () => {
            done += 1;
            await wait(20);
            return { number: done };
          }),
        [],
      );
    const results = await Promise.all(Array.from({ length: 12 }, (_, turn) => attempt(stores[turn % 2]!)));
    expect(results).toEqual(results.map(() => ({ number: 1 })));
    expect(done).toBe(1);
    const other = { ...key, fingerprint: Buffer.from('other') };
    await expect(
      stores[1]!.transaction(({ sql }) => once(sql, other, async () => 1), []),
    ).rejects.toMatchObject({ problem: { status: 422 } });
    await Promise.all(stores.map((store) => store.close()));
    database.remove();
  });
});

const shift = { id: 'early', name: 'Early', start: '06:00', end: '14:00', weekdays: [1, 2, 3, 4, 5] };
const recipient = { id: 'first', name: 'First', personId: null, to: { by: 'topic', topic: 'first' } };

/** The alarm of the plant. */
async function alarm(): Promise<number> {
  if ((await versions()) === 0) await setLimits(app);
  const { alarmId } = await app.call('POST /api/samples', { body: widths(128) });
  return alarmId!;
}
const put = (record: Record<string, unknown>, params: Record<string, string>) => async () => ({
  params,
  body: { record, reason: 'Tried' },
});

/** A request to each endpoint that takes a key, with what it needs beforehand, one after the other on one plant. */
const requests: Partial<Record<EndpointKey, () => Promise<Loose>>> = {
  'PUT /api/plant': put({ name: 'Other works', utcOffsetMinutes: 120 }, {}),
  'PUT /api/people/{id}': put({ id: 'lee', name: 'Lee', role: 'tech' }, { id: 'lee' }),
  'PUT /api/lines/{id}': put(
    {
      id: 'R2',
      name: 'Rim line 2',
      partsPerHour: 300,
      runningHours: { start: '06:00', end: '22:00', weekdays: [1] },
    },
    { id: 'R2' },
  ),
  'PUT /api/stations/{id}': put({ id: 'R1-gate', lineId: 'R1', name: 'Gate' }, { id: 'R1-gate' }),
  'PUT /api/models/{id}': put({ id: 'Q14', name: 'Wheel Q14' }, { id: 'Q14' }),
  'PUT /api/characteristics/{id}': put(
    {
      id: 'C9',
      name: 'Hub bore',
      kind: 'variable',
      unit: 'mm',
      decimals: 2,
      gauge: 'plug',
      lowerNaturalBound: null,
      upperNaturalBound: null,
    },
    { id: 'C9' },
  ),
  'PUT /api/specifications/{characteristicId}/{modelId}': put(
    {
      characteristicId: 'C6',
      modelId: 'Q10',
      nominal: 0,
      lowerSpecificationLimit: null,
      upperSpecificationLimit: 1,
    },
    { characteristicId: 'C6', modelId: 'Q10' },
  ),
  'PUT /api/streams/{id}': put(
    { id: 'C6-new', characteristicId: 'C6', stationId: 'R1-end', name: 'New', kind: 'roll set' },
    { id: 'C6-new' },
  ),
  'PUT /api/plans/{id}': async () => {
    const { plans } = await app.store.plantModel();
    const record = { ...plans.find(({ streamId }) => streamId === 'C3-R1'), remark: 'Other' };
    return { params: { id: 'C3-R1' }, body: { record, reason: 'Tried', secondSignature } };
  },
  'POST /api/samples': async () => ({ body: widths(127) }),
  'POST /api/samples/{id}/corrections': async () => {
    const { sampleId } = await app.call('POST /api/samples', { body: widths(127) });
    const { readings } = widths(127.1);
    return {
      params: { id: sampleId },
      body: { id: randomUUID(), revision: 1, readings, reason: 'Measured again' },
    };
  },
  'POST /api/missed-samples': async () => {
    app.clock.time += 2 * 3_600_000;
    return { body: { streamId: 'C6-R1', dueAt: '2025-09-03T10:30:00+02:00', reason: 'Gauge away' } };
  },
  'POST /api/limits': async () => ({ body: { ...limits(), modelId: 'Q12' } }),
  'POST /api/events': async () => ({
    body: {
      id: randomUUID(),
      lineId: 'R1',
      stationId: null,
      streamId: null,
      kind: 'note',
      at: new Date(start).toISOString(),
      until: null,
      modelId: null,
      lot: null,
      text: 'Swept',
    },
  }),
  'POST /api/alarms/{id}/entries': async () => ({
    params: { id: await alarm() },
    body: { id: randomUUID(), kind: 'acknowledged' },
  }),
  'POST /api/alarms/{id}/shelving': async () => ({
    params: { id: await alarm() },
    body: { id: randomUUID(), minutes: 60, reason: 'Known' },
  }),
  'POST /api/alarms/{id}/unshelving': async () => {
    // It was shelved by the one before.
    const params = { id: await alarm() };
    return { params, body: { id: randomUUID(), reason: 'Back' } };
  },
  'PUT /api/routing/safety': put({ characteristicIds: ['C3'] }, {}),
  'PUT /api/routing/shifts/{id}': put(shift, { id: 'early' }),
  'PUT /api/routing/recipients/{id}': put(recipient, { id: 'first' }),
  'POST /api/routing/recipients/{id}/test': async () => {
    return { params: { id: 'first' } };
  },
  'PUT /api/routing/rules/{id}': async () => {
    const record = {
      id: 'all',
      name: 'All',
      active: true,
      lineIds: [],
      shiftIds: [],
      severities: ['process'],
      groupMinutes: 10,
      steps: [{ afterMinutes: 0, recipientIds: ['first'] }],
    };
    return { params: { id: 'all' }, body: { record } };
  },
  'POST /api/deliveries/{id}/again': async () => {
    const id = await app.store.transaction(async ({ sql }) => {
      const message = {
        door: 'mail',
        recipientId: 'first',
        topic: null,
        subject: 'One',
        body: 'One',
      } as const;
      const added = await addDelivery(sql, message, start);
      const row = await sql.one<{ no: number }>('select no from deliveries where id = ?', added);
      await markFailed(sql, row!.no, 'Nobody there', null, start);
      return added;
    });
    return { params: { id } };
  },
  'POST /api/refused-measurements/{id}/again': async () => {
    const payload = JSON.stringify(widths(127));
    const problem = { type: 'about:blank', title: 'Refused', status: 422, detail: 'Refused', errors: [] };
    await app.store.transaction(({ sql }) =>
      keepRefused(sql, { at: start, topic: 'runtrue/samples/kim', personId: 'kim', payload, problem }),
    );
    const [refused] = await app.call('GET /api/refused-measurements');
    return { params: { id: refused!.id } };
  },
  'POST /api/imports/{id}/commit': async () => {
    const body = 'time;a;b\n2025-09-03 08:00;127.0;127.1\n2025-09-03 09:00;127.1;127.2\n';
    const headers = { 'Content-Type': 'text/csv', 'File-Name': 'widths.csv', 'Runtrue-Person': 'kim' };
    const upload = new Request('http://127.0.0.1/api/imports', { method: 'POST', body, headers });
    const { id, shape } = ImportFile.parse(await (await app.fetch(upload)).json());
    const mapping = {
      shape,
      streamId: 'C6-R1',
      modelId: 'Q10',
      unit: 'mm',
      layout: { form: 'wide', valueColumns: [1, 2] },
      time: { from: 'column', column: 0, format: 'yyyy-MM-dd HH:mm' },
      lotColumn: null,
    };
    return { params: { id }, body: mapping };
  },
  // Administrators do the rest of the above no more.
  'POST /api/keys/{id}/revocation': async () => {
    await becomeAdministrator();
    const { key } = await app.call('POST /api/keys', { body: newKey });
    return { params: { id: key.id }, body: { reason: 'Lost' } };
  },
};

const withKey = Object.entries(contract).flatMap(([key, endpoint]) => ('once' in endpoint ? [key] : []));

describe('every write that takes a key', () => {
  beforeAll(begin);
  afterEach(() => vi.restoreAllMocks());
  afterAll(end);

  it('is in the table of this test', () => {
    expect(Object.keys(requests).sort()).toEqual(withKey.sort());
  });

  /** What was recorded in all: entries of the audit chain, and messages that wait. */
  async function recorded(): Promise<unknown> {
    const count = async (table: string) =>
      (await app.store.sql.one<{ count: number }>(`select count(*) as count from ${table}`))!.count;
    return [await count('audit_entries'), await count('deliveries'), await app.store.sampleCount()];
  }
  /** The end of an import is not waited for by its answer. */
  async function importEnds(id: unknown): Promise<void> {
    await vi.waitFor(
      async () => {
        const progress = await app.fetch(requestTo('GET /api/imports/{id}', { params: { id: String(id) } }));
        expect(['done', 'failed']).toContain(((await progress.json()) as ImportProgress).state);
      },
      { timeout: 20_000 },
    );
  }

  it.each(Object.keys(requests) as EndpointKey[])(
    '%s: answered by nobody, for the server died after the commit; the next gets the answer of the first',
    async (endpoint) => {
      const sent = await requests[endpoint]!();
      const key = randomUUID();
      const isImport = endpoint.includes('/imports/');
      const before = await recorded();
      const { transaction } = app.store;
      const dying = vi.spyOn(app.store, 'transaction').mockImplementation(async (work, streams) => {
        const keys = 'select name from idempotency_keys where name = ?';
        const result = await transaction.call(app.store, work as never, streams);
        if ((await app.store.sql.one(keys, key)) === null) return result as never;
        throw new ProblemError(503, 'Gone', 'The server died after the commit, and before its answer.');
      });
      const first = await send(endpoint, sent, key);
      if (isImport) await importEnds(sent.params?.id);
      else expect(first.status, await first.text()).toBe(503);
      dying.mockRestore();
      const stored = await recorded();
      expect(stored).not.toEqual(before);

      const texts = [];
      for (let turn = 0; turn < 3; turn++) {
        app.clock.time += 1000;
        const response = await send(endpoint, sent, key);
        texts.push(await response.text());
        expect(response.status, texts[0]).toBe(200);
      }
      expect(new Set(texts).size).toBe(1);
      expect(contract[endpoint].response.safeParse(JSON.parse(texts[0]!)).success).toBe(true);
      if (isImport) expect(await first.text()).toBe(texts[0]);
      expect(await recorded()).toEqual(stored);
    },
  );
});
