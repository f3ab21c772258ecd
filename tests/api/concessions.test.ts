/** What a customer takes as it is, over HTTP. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { ConcessionSubmission } from '../../api/schemas.ts';
import { openApp, setLimits, setUpPlant, start, type TestApp, widths } from './support.ts';

const DAY = 24 * 3_600_000;

let app: TestApp;
let alarmId: number;
/** Of the concession that was granted last. Plants of one database count together. */
let no: number;
beforeEach(async () => {
  app = openApp();
  await setUpPlant(app);
  await setLimits(app);
  alarmId = (await app.call('POST /api/samples', { body: widths(128.2) })).alarmId!;
});
afterEach(() => app.close());

const add = (entry: object) =>
  app.call('POST /api/alarms/{id}/entries', {
    params: { id: alarmId },
    body: { id: randomUUID(), ...entry } as never,
  });
async function setApart(countedParts = 620): Promise<void> {
  await add({ kind: 'acknowledged' });
  await add({ kind: 'quarantined', countedParts, text: 'Trolleys 4 to 9' });
}

const wanted = (changes: Partial<ConcessionSubmission> = {}): ConcessionSubmission => ({
  id: randomUUID(),
  alarmId,
  customer: 'Customer 12',
  consent: { document: 'Letter 2025-117', givenBy: 'Their incoming goods', on: '2025-09-02' },
  quantity: 600,
  expiresOn: '2025-09-30',
  reason: 'Width has no function on their axle.',
  ...changes,
});
async function grant(changes: Partial<ConcessionSubmission> = {}) {
  const granted = await app.call('POST /api/concessions', { body: wanted(changes) }, 'quinn');
  no = granted.no;
  return granted;
}
const notGranted = (changes: object) =>
  app.refused('POST /api/concessions', { body: { ...wanted(), ...changes } }, 'quinn');
const entry = (kind: string, quantity?: number) => ({
  params: { id: no },
  body: {
    id: randomUUID(),
    kind,
    text: 'Trolley 4',
    ...(quantity === undefined ? {} : { quantity }),
  } as never,
});
const enter = (kind: string, quantity?: number) =>
  app.call('POST /api/concessions/{id}/entries', entry(kind, quantity), 'quinn');
const notEntered = (kind: string, quantity?: number) =>
  app.refused('POST /api/concessions/{id}/entries', entry(kind, quantity), 'quinn');

describe('a concession', () => {
  it('carries the quality manager and the consent of the customer, and changes nothing else', async () => {
    await setApart();
    const before = await app.call('GET /api/alarms/{id}', { params: { id: alarmId } });
    const granted = await grant();
    expect(granted).toMatchObject({
      state: 'valid',
      alarmId,
      streamId: 'C5-R1',
      modelId: 'Q10',
      personId: 'quinn',
      consent: { document: 'Letter 2025-117', givenBy: 'Their incoming goods', on: '2025-09-02' },
      released: 0,
      left: 600,
      sentence: `0 of 600 parts released under concession ${no}; 600 more may go until the end of 2025-09-30.`,
    });
    expect(await app.call('GET /api/alarms/{id}', { params: { id: alarmId } })).toEqual(before);
    expect(await app.call('GET /api/concessions', { query: { alarmId } })).toEqual([granted]);
    expect(await app.call('GET /api/concessions', { query: { alarmId: alarmId + 1 } })).toEqual([]);
  });

  it('is given by nobody but the quality manager', async () => {
    await setApart();
    const refused = await app.refused('POST /api/concessions', { body: wanted() }, 'kim');
    expect(refused).toMatchObject({
      status: 403,
      detail: expect.stringMatching(/^Only a quality manager may/),
    });
  });

  it.each([
    ['consent', { consent: undefined }],
    ['consent.document', { consent: { document: ' ', givenBy: 'X', on: '2025-09-02' } }],
    ['consent.givenBy', { consent: { document: 'X', givenBy: '', on: '2025-09-02' } }],
    ['consent.on', { consent: { document: 'X', givenBy: 'X', on: '2025-02-30' } }],
    ['consent.on', { consent: { document: 'X', givenBy: 'X', on: '2025-09-04' } }],
    ['quantity', { quantity: 0 }],
    ['quantity', { quantity: 621 }],
    ['expiresOn', { expiresOn: '2025-09-02' }],
    ['expiresOn', { expiresOn: '2205-09-30' }],
    ['reason', { reason: '' }],
    ['alarmId', { alarmId: 99 }],
  ])('is refused with a word at %s: %j', async (field, changes) => {
    await setApart();
    const { status, errors } = await notGranted(changes);
    expect(status === 404).toBe(field === 'alarmId');
    expect(status).toBeLessThan(500);
    expect(errors.map((error) => error.field)).toContain(field);
    expect(await app.call('GET /api/concessions')).toEqual([]);
  });

  it('is only for parts that stand apart and were counted', async () => {
    const none = await notGranted({});
    expect(none).toMatchObject({ status: 409, errors: [{ field: 'alarmId' }] });
    expect(none.detail).toBe(
      `No parts were set apart at alarm ${alarmId}; a concession is for parts that stand apart.`,
    );
    await add({ kind: 'acknowledged' });
    await add({ kind: 'decision', decision: 'stop-and-quarantine', text: 'Too wide' });
    expect((await notGranted({})).detail).toMatch(/^Nobody has counted/);
  });

  it('takes no more than was counted, together with others', async () => {
    await setApart();
    await grant({ quantity: 400 });
    const more = await notGranted({ quantity: 300 });
    expect(more.detail).toBe(
      `620 parts were counted at alarm ${alarmId}, and other concessions take 400 of them; give at most 220.`,
    );
    await enter('released', 100);
    await enter('withdrawn');
    // What has gone under it is gone; the rest is free again.
    expect((await notGranted({ quantity: 521 })).status).toBe(422);
    expect(await grant({ quantity: 520 })).toMatchObject({ released: 0 });
  });

  it('hears of everything that is wrong with it at once', async () => {
    await setApart();
    const { status, detail, errors } = await notGranted({
      consent: { document: 'X', givenBy: 'X', on: '2025-09-04' },
      expiresOn: '2025-09-02',
      quantity: 621,
    });
    expect(status).toBe(422);
    expect(errors.map(({ field }) => field)).toEqual(['consent.on', 'expiresOn', 'quantity']);
    expect(detail).toBe(
      'consent.on is to come; today is 2025-09-03; expiresOn is over already; today is 2025-09-03. ' +
        `620 parts were counted at alarm ${alarmId}; give at most 620.`,
    );
  });

  it('says that none is left where other concessions take all', async () => {
    await setApart(1);
    await grant({ quantity: 1 });
    expect((await notGranted({ quantity: 1 })).detail).toBe(
      `1 part was counted at alarm ${alarmId}, and other concessions take all of them; none is left for this one.`,
    );
  });

  it('lets no more go than stand apart by the newest count, which takes the place of those before', async () => {
    const count = (countedParts: number) => {
      app.clock.time += 1000;
      return add({ kind: 'quarantined', countedParts, text: 'Trolley 9' });
    };
    const enterLater = (kind: string, quantity: number) => {
      app.clock.time += 1000;
      return enter(kind, quantity);
    };
    const apart = async () => {
      const { sections } = await app.call('GET /api/open-work');
      return sections.find(({ of }) => of === 'parts set apart')!.matters[0]!.sentence;
    };
    await setApart(200);
    await grant({ quantity: 200 });
    await enterLater('released', 150);
    await count(20);
    const [short] = await app.call('GET /api/concessions');
    expect(short!.sentence).toBe(
      `150 of 200 parts released under concession ${no}; 50 more were agreed until the end of 2025-09-30, but by the last count 20 stand apart: no more may go.`,
    );
    expect(await apart()).toContain(
      '20 counted by hand at the last count: Trolley 9. 150 were released under a concession before that count.',
    );
    const over = await notEntered('released', 50);
    expect(over).toMatchObject({ status: 422, errors: [{ field: 'quantity' }] });
    expect(over.detail).toBe(
      `The last count at alarm ${alarmId} is 20; at most 20 may go until they are counted again.`,
    );
    expect((await notGranted({ quantity: 1 })).detail).toMatch(/none is left for this one/);
    expect(await enterLater('released', 15)).toMatchObject({ released: 165 });
    expect((await notEntered('released', 6)).detail).toBe(
      `The last count at alarm ${alarmId} is 20, and 15 of them are released since; at most 5 may go until they are counted again.`,
    );
    // Of those that went before the count, none is among the 20.
    await enterLater('taken back', 100);
    expect((await notEntered('released', 21)).status).toBe(422);
    await count(135);
    expect(await enterLater('released', 135)).toMatchObject({ released: 200, state: 'used up' });
  });

  it('lets parts go once, however many ask at once under several concessions', async () => {
    await setApart(100);
    const first = (await grant({ quantity: 50 })).no;
    const second = (await grant({ quantity: 50 })).no;
    app.clock.time += 1000;
    await add({ kind: 'quarantined', countedParts: 50, text: 'Trolley 9' });
    const answers = await Promise.all(
      [first, second].map((id) =>
        app.fetch(
          new Request(`http://127.0.0.1/api/concessions/${id}/entries`, {
            method: 'POST',
            headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'quinn' },
            body: JSON.stringify({ id: randomUUID(), kind: 'released', quantity: 50, text: 'Trolley 4' }),
          }),
        ),
      ),
    );
    expect(answers.map(({ status }) => status).sort()).toEqual([200, 422]);
  });

  it('is counted down as parts go, and lets no more go than the customer takes', async () => {
    await setApart();
    await grant();
    expect(await enter('released', 400)).toMatchObject({ state: 'valid', released: 400, left: 200 });
    const over = await notEntered('released', 201);
    expect(over).toMatchObject({ status: 422, errors: [{ field: 'quantity' }] });
    expect(over.detail).toBe(
      `The customer takes 600 under concession ${no}, and 400 are released; at most 200 more may go.`,
    );
    expect((await notEntered('taken back', 401)).status).toBe(422);
    expect(await enter('taken back', 50)).toMatchObject({ released: 350, left: 250 });
    const all = await enter('released', 250);
    expect(all).toMatchObject({ state: 'used up', left: 0 });
    expect(all.entries.map(({ kind, quantity, personId }) => [kind, quantity, personId])).toEqual([
      ['released', 400, 'quinn'],
      ['taken back', 50, 'quinn'],
      ['released', 250, 'quinn'],
    ]);
    const { sections } = await app.call('GET /api/open-work');
    expect(sections.find(({ of }) => of === 'parts set apart')!.matters[0]!.sentence).toContain(
      '600 of them are released under a concession.',
    );
  });

  it('expires by itself when its last day is over at the plant', async () => {
    await setApart();
    await grant();
    app.clock.time = Date.parse('2025-09-30T23:59:59+02:00');
    expect(await enter('released', 1)).toMatchObject({ state: 'valid' });
    app.clock.time += 1000;
    const [expired] = await app.call('GET /api/concessions');
    expect(expired).toMatchObject({
      state: 'expired',
      sentence: `1 of 600 parts released under concession ${no}. It expired at the end of 2025-09-30: nothing more may go under it.`,
    });
    const late = await notEntered('released', 1);
    expect(late).toMatchObject({ status: 409, errors: [{ field: 'kind' }] });
    expect(late.detail).toBe(
      `Concession ${no} expired at the end of 2025-09-30; ask the customer for a new one.`,
    );
    // A count that was wrong can still be put right.
    expect(await enter('taken back', 1)).toMatchObject({ state: 'expired', released: 0 });
  });

  it('is withdrawn by a further record, once', async () => {
    await setApart();
    await grant();
    expect(await enter('withdrawn')).toMatchObject({ state: 'withdrawn' });
    expect((await notEntered('withdrawn')).status).toBe(409);
    expect((await notEntered('released', 1)).detail).toMatch(/was withdrawn/);
  });

  it('is stored once, however often it is sent', async () => {
    await setApart();
    const body = wanted();
    const one = await app.call('POST /api/concessions', { body }, 'quinn');
    no = one.no;
    expect(await app.call('POST /api/concessions', { body }, 'quinn')).toEqual(one);
    const other = await app.refused('POST /api/concessions', { body: { ...body, quantity: 1 } }, 'quinn');
    expect(other).toMatchObject({ status: 409, errors: [{ field: 'id' }] });
    const release = entry('released', 10);
    const released = await app.call('POST /api/concessions/{id}/entries', release, 'quinn');
    expect(await app.call('POST /api/concessions/{id}/entries', release, 'quinn')).toEqual(released);
    const twisted = { ...release, body: { ...(release.body as object), quantity: 11 } };
    expect(await app.refused('POST /api/concessions/{id}/entries', twisted, 'quinn')).toMatchObject({
      status: 409,
    });
    expect(await app.call('GET /api/concessions/{id}', { params: { id: no } })).toMatchObject({
      released: 10,
    });
  });

  it('is told to whoever looks at the alarm, and read in order of arrival', async () => {
    await setApart();
    const heard: object[] = [];
    app.feed.subscribe((change) => heard.push(change));
    const one = await grant({ quantity: 1 });
    const two = await grant({ quantity: 2 });
    expect(heard).toMatchObject([
      { kind: 'alarm', alarmId },
      { kind: 'alarm', alarmId },
    ]);
    expect((await app.call('GET /api/concessions')).map(({ no }) => no)).toEqual([two.no, one.no]);
    const page = await app.call('GET /api/concessions', { query: { after: one.no } });
    expect(page.map(({ no }) => no)).toEqual([two.no]);
    const missing = await app.refused('GET /api/concessions/{id}', { params: { id: 7_000_000 } });
    expect(missing).toMatchObject({ status: 404, detail: 'There is no concession "7000000".' });
  });

  it('is a rule for a time, which a handover names until it is over', async () => {
    await setApart();
    await grant();
    const named = async () => {
      const { sections } = await app.call('GET /api/open-work');
      return sections
        .find(({ of }) => of === 'concessions')!
        .matters.map(({ title, until }) => [title, until]);
    };
    expect(await named()).toEqual([[`Concession ${no}, Customer 12`, '2025-09-30T22:00:00.000Z']]);
    app.clock.time = start + 40 * DAY;
    expect(await named()).toEqual([]);
  });
});
