import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { openApp, problemOf, requestTo, secondSignature, setUpPlant, type TestApp } from './support.ts';

let app: TestApp;
beforeEach(async () => {
  app = openApp();
  await setUpPlant(app);
});
afterEach(() => app.close());

const limits = (mean = 127) => ({
  streamId: 'C5-R1',
  modelId: 'Q10',
  status: 'approved' as const,
  source: { kind: 'given' as const, mean, withinSubgroupStandardDeviation: 0.18 },
  effectiveFrom: '2025-09-02T00:00:00+02:00',
  reason: 'Machine study of August',
  secondSignature,
});

function freeze(key: string | null, body: object = limits(), person = 'kim'): Promise<Response> {
  const request = requestTo('POST /api/limits', { body }, person);
  if (key !== null) request.headers.set('Idempotency-Key', key);
  return app.fetch(request);
}
const versions = async () => (await app.store.limitsVersions('C5-R1', 'Q10')).length;

describe('a write without an id of its own', () => {
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

  it('refuses another request under the key', async () => {
    const key = randomUUID();
    await freeze(key);
    const problem = await problemOf(await freeze(key, limits(127.1)));
    expect(problem).toMatchObject({ status: 422, errors: [{ field: 'Idempotency-Key' }] });
    const entry = requestTo('POST /api/alarms/{id}/unshelving', { params: { id: 1 }, body: { reason: 'x' } });
    entry.headers.set('Idempotency-Key', key);
    const elsewhere = await app.fetch(entry);
    expect([404, 422]).toContain(elsewhere.status);
    expect(await versions()).toBe(1);
  });

  it('sent many times at once is carried out once; who comes while it is under way is told so', async () => {
    const key = randomUUID();
    const answers = await Promise.all(Array.from({ length: 20 }, () => freeze(key)));
    const statuses = new Set(answers.map(({ status }) => status));
    expect([...statuses].every((status) => status === 200 || status === 409)).toBe(true);
    expect(statuses).toContain(200);
    for (const answer of answers.filter(({ status }) => status === 409))
      expect(await problemOf(answer)).toMatchObject({ errors: [{ field: 'Idempotency-Key' }] });
    expect(await versions()).toBe(1);
    expect((await freeze(key)).status).toBe(200);
  });

  it('that was refused may be mended and sent again under its key', async () => {
    const key = randomUUID();
    expect((await freeze(key, limits(Number.MAX_SAFE_INTEGER))).status).toBe(422);
    expect((await freeze(key, { ...limits(), streamId: 'none' })).status).toBe(404);
    expect((await freeze(key)).status).toBe(200);
  });

  it('has its answer stored with itself: a server that dies right after it gives the same answer later', async () => {
    const key = randomUUID();
    const answer = await (await freeze(key)).json();
    const row = await app.store.sql.one<{ answer: string }>('select answer from idempotency_keys');
    expect(JSON.parse(row!.answer)).toEqual(answer);
    // Written by the transaction of the limits itself: no later write would repair a missing answer.
    const transactions = vi.spyOn(app.store, 'transaction');
    await freeze(randomUUID());
    expect(transactions).toHaveBeenCalledTimes(2);
    transactions.mockRestore();
  });

  it('may be begun again where its server died in the middle, a minute later', async () => {
    const key = randomUUID();
    await freeze(key);
    await app.store.transaction(({ sql }) => sql.run('update idempotency_keys set answer = null'));
    expect((await freeze(key)).status).toBe(409);
    app.clock.time += 60_001;
    expect((await freeze(key)).status).toBe(200);
    expect(await versions()).toBe(2);
  });

  it('is forgotten after a day, and its row with it', async () => {
    await freeze('a');
    app.clock.time += 24 * 3_600_000 + 1;
    await freeze('b');
    await freeze('a');
    expect(await versions()).toBe(3);
    expect(await app.store.sql.all('select name from idempotency_keys order by name')).toEqual([
      { name: 'a' },
      { name: 'b' },
    ]);
  });

  it.each(['', '"', '"a', 'a b', '"\u00e9"', 'x'.repeat(256)])('refuses the key %j', async (key) => {
    const problem = await problemOf(await freeze(key));
    expect(problem).toMatchObject({ status: 422, errors: [{ field: 'Idempotency-Key' }] });
    expect(await versions()).toBe(0);
  });
});
