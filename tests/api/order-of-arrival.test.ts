/** Lists in order of arrival, read on while data arrives: nothing is missed, nothing comes twice. */
import { randomUUID } from 'node:crypto';
import fc from 'fast-check';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { contract } from '../../api/contract.ts';
import type { EventSubmission } from '../../api/schemas.ts';
import { openApp, requestTo, setLimits, setUpPlant, start, type TestApp, widths } from './support.ts';

let app: TestApp;
beforeEach(async () => {
  app = openApp();
  await setUpPlant(app);
  await setLimits(app);
});
afterEach(() => app.close());

interface Page {
  readonly items: readonly { readonly id: string | number }[];
  readonly next: string;
}
/** One page, held against the contract: its fields, and not one more. */
async function page(address: string): Promise<Page> {
  const response = await app.fetch(
    new Request(`http://127.0.0.1${address}`, { headers: { 'Runtrue-Person': 'kim' } }),
  );
  const items = await response.json();
  expect(response.status, JSON.stringify(items)).toBe(200);
  const list = new URL(address, 'http://127.0.0.1')
    .pathname as `/api/${'samples' | 'signals' | 'alarms' | 'events'}`;
  expect(contract[`GET ${list}`].response.safeParse(items).error?.issues ?? []).toEqual([]);
  const link = /^<(.*)>; rel="next"$/.exec(response.headers.get('link') ?? '');
  return { items, next: link![1]! };
}
/** Reads on until `isDone` and an empty page come together. */
async function readAll(address: string, isDone: () => boolean): Promise<(string | number)[]> {
  const ids: (string | number)[] = [];
  for (let at = address; ; ) {
    const wasDone = isDone();
    const { items, next } = await page(at);
    ids.push(...items.map(({ id }) => id));
    if (items.length === 0 && wasDone) return ids;
    at = next;
    await new Promise((turn) => setImmediate(turn));
  }
}

const sample = (streamId: string, mean: number, takenAt: number) => ({
  ...widths(mean, { takenAt }),
  streamId,
});

it('of samples, signals and alarms is whole for a reader who comes while they arrive', async () => {
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.record({ late: fc.nat(500), far: fc.boolean(), other: fc.boolean() }), {
        minLength: 1,
        maxLength: 25,
      }),
      fc.integer({ min: 1, max: 7 }),
      async (arrivals, limit) => {
        const before = { samples: [] as unknown[], signals: [] as unknown[], alarms: [] as unknown[] };
        const address = (list: string): string => `/api/${list}?streamId=C5-R1&after=0&limit=${limit}`;
        for (const list of ['samples', 'signals', 'alarms'] as const)
          before[list] = await readAll(address(list), () => true);
        let done = false;
        const isDone = (): boolean => done;
        const readers = Promise.all(
          ['samples', 'signals', 'alarms'].map((list) => readAll(address(list), isDone)),
        );
        const sent = arrivals.map(({ late, far, other }) =>
          sample(other ? 'C6-R1' : 'C5-R1', other ? 1 : far ? 127.9 : 127, start - late * 60_000),
        );
        await Promise.all(sent.map((body) => app.call('POST /api/samples', { body } as never)));
        done = true;
        const [samples, signals, alarms] = await readers;
        const mine = sent.filter(({ streamId }) => streamId === 'C5-R1').map(({ id }) => id);
        expect(new Set(samples).size).toBe(samples!.length);
        expect(samples!.slice(before.samples.length).sort()).toEqual(mine.sort());
        for (const [list, was] of [
          [signals!, before.signals],
          [alarms!, before.alarms],
        ] as const) {
          expect(new Set(list).size).toBe(list.length);
          expect(list.slice(0, was.length)).toEqual(was);
          expect([...list]).toEqual([...list].sort((a, b) => Number(a) - Number(b)));
        }
        const stored = await app.store.alarms({ streamId: 'C5-R1', limit: 1000 });
        expect(alarms!.length).toBe(stored.length);
      },
    ),
    { numRuns: 8 },
  );
});

it('of events is whole too, and says where to read on', async () => {
  const event = (): EventSubmission => ({
    id: randomUUID(),
    lineId: 'R1',
    stationId: null,
    streamId: null,
    kind: 'note',
    at: new Date(start).toISOString(),
    until: null,
    modelId: null,
    lot: null,
    text: 'A note',
  });
  const events = Array.from({ length: 30 }, event);
  let done = false;
  const reading = readAll('/api/events?lineId=R1&after=0&limit=4', () => done);
  await Promise.all(events.map((body) => app.call('POST /api/events', { body })));
  done = true;
  const ids = await reading;
  expect([...ids].sort()).toEqual(events.map(({ id }) => id).sort());
  const last = await page('/api/events?lineId=R1&after=0&limit=500');
  expect(last.next).toMatch(/^\/api\/events\?lineId=R1&after=\d+&limit=500$/);
  expect((await page(last.next)).items).toEqual([]);
});

it.each([
  ['GET /api/samples', { streamId: 'C5-R1', after: -1 }, 'after'],
  ['GET /api/samples', { streamId: 'C5-R1', limit: 501 }, 'limit'],
  ['GET /api/alarms', { after: 3 }, 'streamId'],
  ['GET /api/events', { lineId: 'R1', after: 3, from: '2025-09-01T00:00:00Z' }, 'after'],
  ['GET /api/events', { lineId: 'R1' }, 'from'],
] as const)('%s refuses %j', async (key, query, field) => {
  const problem = await (await app.fetch(requestTo(key, { query }))).json();
  expect(problem).toMatchObject({ status: 422, errors: [{ field }] });
});
