import { describe, expect, it, vi } from 'vitest';
import type { SampleAnswer } from '../../api/schemas.ts';
import { createOutbox, type Delivery, type NewSample } from '../../web/offline/outbox.ts';

function memoryStorage() {
  const items = new Map<string, string>();
  return {
    get length() {
      return items.size;
    },
    key: (index: number) => [...items.keys()][index] ?? null,
    getItem: (key: string) => items.get(key) ?? null,
    setItem: (key: string, value: string) => void items.set(key, value),
    removeItem: (key: string) => void items.delete(key),
  };
}

const idOf = (number: number) => `00000000-0000-4000-8000-00000000000${number}`;
const sample = (number: number): NewSample => ({
  submission: {
    id: idOf(number),
    streamId: 'C5-R1',
    modelId: 'Q10',
    takenAt: `2025-09-01T06:3${number}:00Z`,
    unit: 'mm',
    readings: [{ value: 127.1 }],
  },
  personId: 'pat',
  title: 'Rim width',
});
const answer = (number: number, level: 'fine' | 'measure-again' | 'call'): SampleAnswer => ({
  sampleId: idOf(number),
  revision: 1,
  storedAt: '2025-09-01T06:40:00Z',
  verdict: { level, judged: true, sentence: level, steps: [], cautions: [] },
  location: { value: null, limits: null },
  spread: { value: null, limits: null },
  outsideSpecification: [],
  questions: [],
  signals: [],
  alarmId: null,
});
const stored = (number: number, level: 'fine' | 'measure-again' | 'call' = 'fine'): Delivery => ({
  kind: 'stored',
  answer: answer(number, level),
});
const refused: Delivery = {
  kind: 'refused',
  problem: { type: 'about:blank', title: 'No', status: 422, detail: 'Not so.', errors: [] },
};
const waiting: Delivery = { kind: 'waiting' };

/** An outbox whose sendings are answered one after the other with `deliveries`. */
function setUp(deliveries: Delivery[], storage = memoryStorage(), maySend = (_: string) => true) {
  const send = vi.fn((_: NewSample) => Promise.resolve(deliveries.shift() ?? waiting));
  const outbox = createOutbox({ storage, send, now: () => 1, maySend, changed: () => {} });
  return { outbox, send, storage };
}

describe('samples that the server has not confirmed', () => {
  it('wait until their own person is signed in, and hold up nobody else', async () => {
    let signedIn: string | null = null;
    const { outbox, send } = setUp(
      [waiting, waiting, stored(2), stored(1)],
      memoryStorage(),
      (id) => id === signedIn,
    );
    // The session had ended without the page knowing.
    await outbox.submit({ ...sample(1), personId: 'ana' });
    await outbox.submit({ ...sample(2), personId: 'ben' });
    await outbox.sendWaiting();
    expect(send).toHaveBeenCalledTimes(2);
    signedIn = 'ben';
    await outbox.sendWaiting();
    expect(outbox.kept().map(({ personId }) => personId)).toEqual(['ana']);
    signedIn = 'ana';
    await outbox.sendWaiting();
    expect(outbox.kept()).toEqual([]);
    expect(send.mock.calls.map(([{ personId }]) => personId)).toEqual(['ana', 'ben', 'ben', 'ana']);
  });

  it('are on the device before they are sent, and off it after the answer', async () => {
    const storage = memoryStorage();
    let kept = 0;
    const outbox = createOutbox({
      storage,
      send: async () => {
        kept = storage.length;
        return stored(1);
      },
      now: () => 1,
      maySend: () => true,
      changed: () => {},
    });
    expect(await outbox.submit(sample(1))).toEqual(stored(1));
    expect(kept).toBe(1);
    expect(storage.length).toBe(0);
    expect(outbox.kept()).toEqual([]);
  });

  it('are sent once for a double Enter', async () => {
    const { outbox, send } = setUp([stored(1)]);
    const [one, two] = await Promise.all([outbox.submit(sample(1)), outbox.submit(sample(1))]);
    expect(one).toBe(two);
    expect(send).toHaveBeenCalledTimes(1);
  });

  it('wait when there is no answer, survive a reload, and go out again under the same id and person', async () => {
    const { outbox, storage } = setUp([waiting]);
    expect(await outbox.submit(sample(1))).toEqual(waiting);
    expect(outbox.kept()).toMatchObject([{ personId: 'pat', refusal: null, answer: null }]);

    const reloaded = setUp([stored(1)], storage);
    expect(reloaded.outbox.kept()).toHaveLength(1);
    await reloaded.outbox.sendWaiting();
    expect(reloaded.send.mock.calls[0]?.[0]).toMatchObject(sample(1));
    expect(reloaded.outbox.kept()).toEqual([]);
    expect(storage.length).toBe(0);
  });

  it('go out oldest first and stop at the first without an answer', async () => {
    const { outbox, send } = setUp([waiting, waiting, waiting, stored(1), waiting]);
    for (const number of [3, 1, 2]) await outbox.submit(sample(number));
    send.mockClear();
    await outbox.sendWaiting();
    expect(send.mock.calls.map(([sent]) => sent.submission.id)).toEqual([idOf(1), idOf(2)]);
    expect(outbox.kept().map((kept) => kept.submission.id)).toEqual([idOf(2), idOf(3)]);
  });

  it('are given back to the person at hand when refused, and not kept a second time', async () => {
    const { outbox, storage } = setUp([refused]);
    expect(await outbox.submit(sample(1))).toBe(refused);
    expect(storage.length).toBe(0);
  });

  it('stay with the server’s words when refused later, and are not sent again unasked', async () => {
    const { outbox, send } = setUp([waiting, refused, stored(1)]);
    await outbox.submit(sample(1));
    await outbox.sendWaiting();
    expect(outbox.kept()).toMatchObject([{ refusal: { detail: 'Not so.' } }]);
    await outbox.sendWaiting();
    expect(send).toHaveBeenCalledTimes(2);
    expect(await outbox.sendAgain(idOf(1))).toEqual(stored(1));
    expect(outbox.kept()).toEqual([]);
  });

  it('stored later with a verdict that asks for something stay until a person has read it', async () => {
    const { outbox, storage, send } = setUp([waiting, stored(1, 'call')]);
    await outbox.submit(sample(1));
    await outbox.sendWaiting();
    expect(setUp([], storage).outbox.kept()).toMatchObject([{ answer: { verdict: { level: 'call' } } }]);
    await outbox.sendWaiting();
    expect(send).toHaveBeenCalledTimes(2);
    outbox.remove(idOf(1));
    expect(storage.length).toBe(0);
  });

  it('stored later without a call stay too where the reaction plan has steps: bad parts are to be set apart', async () => {
    const apart = { ...answer(1, 'fine').verdict, judged: false, steps: ['Set the leaking rims apart.'] };
    const { outbox } = setUp([waiting, { kind: 'stored', answer: { ...answer(1, 'fine'), verdict: apart } }]);
    await outbox.submit(sample(1));
    await outbox.sendWaiting();
    expect(outbox.kept()).toMatchObject([{ answer: { verdict: apart } }]);
  });

  it('are sent even when the device has no room for them', async () => {
    const full = {
      ...memoryStorage(),
      length: 0,
      setItem: () => {
        throw new Error('no room');
      },
    };
    const { outbox } = setUp([waiting, stored(1)], full);
    await outbox.submit(sample(1));
    expect(outbox.kept()).toHaveLength(1);
    await outbox.sendWaiting();
    expect(outbox.kept()).toEqual([]);
  });

  it('delivered by another open page are forgotten here', async () => {
    const { outbox, storage, send } = setUp([waiting]);
    await outbox.submit(sample(1));
    await setUp([stored(1)], storage).outbox.sendWaiting();
    await outbox.sendWaiting();
    expect(send).toHaveBeenCalledTimes(1);
    expect(outbox.kept()).toEqual([]);
  });

  it('that cannot be read are left alone', () => {
    const storage = memoryStorage();
    storage.setItem('runtrue.outbox.broken', '{');
    storage.setItem('something-else', '{}');
    expect(setUp([], storage).outbox.kept()).toEqual([]);
    expect(storage.length).toBe(2);
  });
});
