/** From one supervisor to the next, over HTTP. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { beginRestart } from '../../api/restarts/begin-restart.ts';
import { addRestartEntry, restartOf } from '../../api/restarts/restart-records.ts';
import type { OpenMattersOf, OpenWork } from '../../api/schemas.ts';
import type { EventRow } from '../../api/store/store.ts';
import { openApp, setLimits, setUpPlant, type TestApp, widths } from './support.ts';

const MINUTE = 60_000;

const event = (given: Pick<EventRow, 'kind' | 'at' | 'modelId'>): EventRow => ({
  id: randomUUID(),
  lineId: 'R1',
  stationId: null,
  streamId: null,
  until: null,
  lot: null,
  text: '',
  personId: 'kim',
  recordedAt: given.at,
  ...given,
});

let app: TestApp;
/** Of the handover that was given last. Plants of one database count together. */
let no: number;
beforeEach(async () => {
  app = openApp();
  await setUpPlant(app);
  await setLimits(app);
  for (const id of ['sam', 'uma'])
    await app.call('PUT /api/people/{id}', {
      params: { id },
      body: { record: { id, name: id === 'sam' ? 'Sam' : 'Uma', role: 'supervisor' } },
    });
});
afterEach(() => app.close());

const keysOf = ({ sections }: OpenWork): string[] =>
  sections.flatMap(({ matters }) => matters.map(({ key }) => key));
const section = ({ sections }: OpenWork, of: OpenMattersOf) => sections.find((one) => one.of === of)!.matters;
const openWork = () => app.call('GET /api/open-work', undefined, 'sam');

async function raiseAlarm(mean = 127.6, takenAt = app.clock.time): Promise<number> {
  const { alarmId } = await app.call('POST /api/samples', { body: widths(mean, { takenAt }) });
  return alarmId!;
}
const add = (id: number, entry: object) =>
  app.call('POST /api/alarms/{id}/entries', {
    params: { id },
    body: { id: randomUUID(), ...entry } as never,
  });

async function give(words = 'Line 1 at half speed until the setter is back.', person = 'sam') {
  const seen = keysOf(await openWork());
  const given = await app.call('POST /api/handovers', { body: { id: randomUUID(), words, seen } }, person);
  no = given.no;
  return given;
}
const taking = (seen: string[] = [], words = '') => ({ id: randomUUID(), words, seen });

describe('what is open', () => {
  it('is nothing in a quiet plant', async () => {
    const open = await openWork();
    expect(Date.parse(open.at) - Date.parse(open.since)).toBe(12 * 60 * MINUTE);
    expect(open.sections.flatMap(({ matters }) => matters)).toEqual([]);
  });

  it('tells of an alarm who has it and what is missing next, step by step', async () => {
    const id = await raiseAlarm();
    const of = async () => section(await openWork(), 'alarms')[0]!;
    expect(await of()).toMatchObject({
      key: `alarm ${id} 0`,
      where: 'Rim line 1, End of rim line 1, Wheel Q10',
      severity: 'process',
      who: null,
      alarmId: id,
      next: 'Take it: nobody is on it yet.',
    });
    await add(id, { kind: 'acknowledged' });
    expect(await of()).toMatchObject({ who: 'Kim', next: expect.stringMatching(/^Decide/) });
    await add(id, { kind: 'decision', decision: 'stop-and-quarantine', text: 'Too wide' });
    expect(await of()).toMatchObject({ next: expect.stringMatching(/^Have the parts counted by hand/) });
    expect(section(await openWork(), 'parts set apart')).toMatchObject([
      { alarmId: id, sentence: expect.stringMatching(/nobody has counted them/) },
    ]);
    await add(id, { kind: 'quarantined', countedParts: 620, text: 'Paint shop, trolleys 4 to 9' });
    expect(await of()).toMatchObject({ next: expect.stringMatching(/^Find the cause/) });
    const [apart] = section(await openWork(), 'parts set apart');
    expect(apart!.sentence).toContain('620 counted by hand at the last count: Paint shop, trolleys 4 to 9.');
    await add(id, { kind: 'cause', text: 'Worn roll' });
    expect(await of()).toMatchObject({ next: expect.stringMatching(/^Watch the next samples/) });
  });

  it('names shelved alarms, stoppages and undelivered messages', async () => {
    const id = await raiseAlarm();
    await app.call('POST /api/alarms/{id}/shelving', {
      params: { id },
      body: { id: randomUUID(), minutes: 60, reason: 'Setter comes at eleven' },
    });
    await app.call('POST /api/events', {
      body: {
        id: randomUUID(),
        lineId: 'R1',
        stationId: null,
        streamId: null,
        kind: 'stoppage',
        at: new Date(app.clock.time - 5 * MINUTE).toISOString(),
        until: null,
        modelId: null,
        lot: null,
        text: 'Coil jam',
      },
    });
    await app.store.sql.run(
      `insert into deliveries (id, door, subject, body, created_at, give_up_at, due_at, claimed_until, attempts, state)
       values ('m', 'mail', 's', 'b', 0, 0, 0, 0, 3, 'dead')`,
    );
    const open = await openWork();
    expect(section(open, 'alarms')).toEqual([]);
    expect(section(open, 'shelved alarms')).toMatchObject([
      { alarmId: id, who: 'Kim', sentence: expect.stringContaining('Shelved: Setter comes at eleven') },
    ]);
    expect(section(open, 'stoppages')).toMatchObject([{ title: 'Stands: Rim line 1', sentence: 'Coil jam' }]);
    expect(section(open, 'messages')).toMatchObject([{ title: '1 message could not be delivered' }]);
  });

  it('names a change of the set-up whose first piece is not approved', async () => {
    const changeover = event({ kind: 'changeover', at: app.clock.time - 5 * MINUTE, modelId: 'Q12' });
    await app.store.transaction(async (to) => beginRestart(to, await to.plantModel(), changeover));
    const restart = async () => section(await openWork(), 'restarts')[0];
    expect(await restart()).toMatchObject({
      title: 'First piece after a changeover',
      where: 'Rim line 1, Wheel Q12',
      who: 'Kim',
      restartId: changeover.id,
      sentence: expect.stringMatching(/^Nobody has stated the first piece yet\. About \d+ parts were made/),
    });
    // What people stated about it, and what the restart itself says comes next.
    const detail = async () => app.call('GET /api/restarts/{id}', { params: { id: changeover.id } });
    expect((await restart())!.next).toBe((await detail()).next);
    const row = (await restartOf(app.store.sql, changeover.id))!;
    const state = (kind: 'stated' | 'refused', personId: string, text: string) =>
      app.store.transaction((to) =>
        addRestartEntry(to, row, {
          restartNo: row.no,
          id: randomUUID(),
          kind,
          at: app.clock.time,
          personId,
          text,
          results: [],
        }),
      );
    await state('stated', 'sam', '');
    expect((await restart())!.sentence).toMatch(/^Sam stated the first piece; it waits for an engineer\. /);
    expect((await restart())!.next).toBe((await detail()).next);
    await state('refused', 'kim', 'Burr on the edge.');
    expect((await restart())!.sentence).toMatch(/^Kim refused the first piece: Burr on the edge\. About/);
  });

  it('tells missed samples since the last handover, so that none falls between two', async () => {
    const given = await give();
    app.clock.time += 3 * 60 * MINUTE;
    const open = await openWork();
    expect(open.since).toBe(given.at);
    const [missed] = section(open, 'missed samples');
    expect(missed).toMatchObject({
      title: 'Weld faults, Line 1',
      where: 'Rim line 1, End of rim line 1',
      sentence: '2 samples of 10:30, 11:30 were not taken; the sample of 12:30 is late.',
      next: expect.stringMatching(/^Measure now: .*reason for the others recorded at Station/),
    });
    await app.call('POST /api/missed-samples', {
      body: { streamId: 'C3-R1', dueAt: '2025-09-03T10:30:00+02:00', reason: 'Nobody there' },
    });
    const onOne = section(await openWork(), 'missed samples').map(({ sentence }) => sentence);
    expect(onOne).toContain(
      '2 samples of 10:30, 11:30 were not taken; a reason is recorded for 1 of 2; the sample of 12:30 is late.',
    );
    // The next morning: the samples of the evening before are still told.
    app.clock.time = Date.parse('2025-09-04T06:05:00+02:00');
    expect(section(await openWork(), 'missed samples')[0]!.sentence).toEqual(
      expect.stringMatching(/^12 samples were not taken, the last of them at 14:30, .*, 20:30, 21:30[.;]/),
    );
  });
});

describe('a late sample', () => {
  const at = (time: string) => {
    app.clock.time = Date.parse(`2025-09-03T${time}:00+02:00`);
  };
  const told = async () => section(await openWork(), 'missed samples').map(({ sentence }) => sentence);
  const lateOnFloor = async () =>
    (await app.call('GET /api/floor')).streams
      .filter(({ state }) => state === 'late')
      .map(({ streamId }) => streamId);

  it('is on the list as long as the board calls it late, before and after a handover', async () => {
    at('10:40');
    expect(await told()).toEqual([]);
    at('10:50');
    const late = await lateOnFloor();
    expect(late.length).toBeGreaterThan(0);
    const ofOne = section(await openWork(), 'missed samples');
    expect(new Set(ofOne.map(({ sentence }) => sentence))).toEqual(new Set(['The sample of 10:30 is late.']));
    expect(ofOne).toHaveLength(late.length);
    expect(ofOne[0]!.next).toMatch(/^Measure now/);
    await give();
    expect(await told()).toHaveLength(late.length);
    // It is missed meanwhile, and no other matter for that.
    at('11:20');
    expect(await lateOnFloor()).toEqual(late);
    const missed = section(await openWork(), 'missed samples');
    expect(missed.map(({ key }) => key)).toEqual(ofOne.map(({ key }) => key));
    expect(missed[0]!.sentence).toBe('The sample of 10:30 was not taken.');
  });

  it('that a handover found merely due does not fall between two when it is missed', async () => {
    at('10:40');
    await give();
    at('12:20');
    expect((await told())[0]).toBe('2 samples of 10:30, 11:30 were not taken.');
  });
});

describe('a handover', () => {
  it('is kept as it was seen, taken over by another supervisor, and then stays', async () => {
    const id = await raiseAlarm();
    const given = await give();
    expect(given).toMatchObject({ state: 'waiting', personId: 'sam', end: null, openedSince: [] });
    await add(id, { kind: 'acknowledged' });
    await app.call('PUT /api/streams/{id}', {
      params: { id: 'C5-R1' },
      body: {
        record: {
          id: 'C5-R1',
          characteristicId: 'C5',
          stationId: 'R1-end',
          name: 'Another name',
          kind: 'roll set',
        },
        reason: 'Renamed',
      },
    });
    const taken = await app.call(
      'POST /api/handovers/{id}/taking',
      { params: { id: no }, body: taking([], 'Read.') },
      'uma',
    );
    expect(taken).toMatchObject({ state: 'taken', end: { kind: 'taken', personId: 'uma', words: 'Read.' } });
    expect(taken.open).toEqual(given.open);
    expect(section(taken.open, 'alarms')).toMatchObject([{ title: 'Rim width, Line 1', who: null }]);
    const twice = await app.refused(
      'POST /api/handovers/{id}/taking',
      { params: { id: no }, body: taking() },
      'uma',
    );
    expect(twice).toMatchObject({
      status: 409,
      detail: expect.stringMatching(new RegExp(`^Uma took handover ${no} over at 2025`)),
    });
    expect(await app.call('GET /api/handovers', { query: { state: 'taken' } })).toMatchObject([{ no }]);
    expect(await app.call('GET /api/handovers', { query: { state: 'waiting' } })).toEqual([]);
  });

  it('is signed by nobody who has not seen what came up', async () => {
    const seen = keysOf(await openWork());
    const id = await raiseAlarm();
    const body = { id: randomUUID(), words: '', seen };
    const unseen = await app.refused('POST /api/handovers', { body }, 'sam');
    expect(unseen).toMatchObject({ status: 409, errors: [{ field: 'seen' }] });
    expect(unseen.title).toBe('Something new came up');
    expect(unseen.detail).toMatch(/^Not on the list you read: Rim width, Line 1 \(/);
    expect(await app.call('GET /api/handovers')).toEqual([]);
    await app.call('POST /api/handovers', { body: { ...body, seen: [...seen, `alarm ${id} 0`] } }, 'sam');
  });

  it('tells whoever takes over what came up since, and keeps what they were shown', async () => {
    await give();
    app.clock.time += MINUTE;
    const id = await raiseAlarm();
    const waiting = await app.call('GET /api/handovers/{id}', { params: { id: no } });
    expect(waiting.openedSince).toMatchObject([{ key: `alarm ${id} 0` }]);
    const unread = await app.refused(
      'POST /api/handovers/{id}/taking',
      { params: { id: no }, body: taking() },
      'uma',
    );
    expect(unread).toMatchObject({ status: 409, errors: [{ field: 'seen' }] });
    await app.call(
      'POST /api/handovers/{id}/taking',
      { params: { id: no }, body: taking([`alarm ${id} 0`]) },
      'uma',
    );
    app.clock.time += MINUTE;
    const later = await app.call('GET /api/handovers/{id}', { params: { id: no } });
    expect(later.openedSince).toEqual(waiting.openedSince);
  });

  it('is taken over by no one person twice, nor by anybody but a supervisor', async () => {
    await give();
    const same = await app.refused(
      'POST /api/handovers/{id}/taking',
      { params: { id: no }, body: taking() },
      'sam',
    );
    expect(same).toMatchObject({ status: 403, errors: [{ field: 'Runtrue-Person' }] });
    expect(same.detail).toBe(
      'A shift handover needs two signatures: a shift supervisor and, as another person, a shift supervisor. ' +
        'The same person cannot sign twice.',
    );
    const engineer = await app.refused(
      'POST /api/handovers/{id}/taking',
      { params: { id: no }, body: taking() },
      'kim',
    );
    expect(engineer).toMatchObject({ status: 403, title: 'Not allowed' });
  });

  it('is withdrawn by a further record with a reason, and another can be given then', async () => {
    const first = await give();
    const seen = keysOf(await openWork());
    const second = await app.refused(
      'POST /api/handovers',
      { body: { id: randomUUID(), words: '', seen } },
      'sam',
    );
    expect(second).toMatchObject({
      status: 409,
      detail: expect.stringMatching(new RegExp(`^Your handover ${no} still waits`)),
    });
    const body = { id: randomUUID(), reason: 'Forgot the welder' };
    const withdrawn = await app.call(
      'POST /api/handovers/{id}/withdrawal',
      { params: { id: no }, body },
      'sam',
    );
    expect(withdrawn).toMatchObject({ state: 'withdrawn', words: first.words, end: { words: body.reason } });
    const again = await app.call('POST /api/handovers/{id}/withdrawal', { params: { id: no }, body }, 'sam');
    expect(again).toEqual(withdrawn);
    const late = await app.refused(
      'POST /api/handovers/{id}/taking',
      { params: { id: no }, body: taking() },
      'uma',
    );
    expect(late.detail).toMatch(new RegExp(`^Sam withdrew handover ${no} at .*: Forgot the welder$`));
    expect(await give()).toMatchObject({ no, state: 'waiting' });
  });

  it('is stored once, however often it is sent', async () => {
    const body = { id: randomUUID(), words: 'Half speed', seen: keysOf(await openWork()) };
    const one = await app.call('POST /api/handovers', { body }, 'sam');
    const two = await app.call('POST /api/handovers', { body }, 'sam');
    expect(two).toEqual(one);
    const other = await app.refused('POST /api/handovers', { body: { ...body, words: 'Full speed' } }, 'sam');
    expect(other).toMatchObject({ status: 409, errors: [{ field: 'id' }] });
    const take = taking();
    const params = { id: one.no };
    const taken = await app.call('POST /api/handovers/{id}/taking', { params, body: take }, 'uma');
    expect(await app.call('POST /api/handovers/{id}/taking', { params, body: take }, 'uma')).toEqual(taken);
    const asOther = { params, body: { id: take.id, reason: 'No' } };
    expect(await app.refused('POST /api/handovers/{id}/withdrawal', asOther, 'uma')).toMatchObject({
      status: 409,
    });
  });

  it('is told to open pages, and read in order of arrival while others are given', async () => {
    const heard: string[] = [];
    app.feed.subscribe(({ kind }) => heard.push(kind));
    const one = await give('One');
    const two = await give('Two', 'uma');
    expect(heard).toEqual(['handover', 'handover']);
    const list = await app.fetch(
      new Request('http://127.0.0.1/api/handovers?after=0&limit=1', { headers: { 'Runtrue-Person': 'sam' } }),
    );
    expect(list.headers.get('link')).toBe(`</api/handovers?after=${one.no}&limit=1>; rel="next"`);
    expect(list.headers.get('etag')).toMatch(/^"/);
    expect(await app.call('GET /api/handovers', { query: { after: one.no } })).toMatchObject([
      { words: 'Two' },
    ]);
    expect((await app.call('GET /api/handovers')).map(({ no }) => no)).toEqual([two.no, one.no]);
  });

  it('is refused in words where there is none', async () => {
    for (const [key, body] of [
      ['GET /api/handovers/{id}', undefined],
      ['POST /api/handovers/{id}/taking', taking()],
      ['POST /api/handovers/{id}/withdrawal', { id: randomUUID(), reason: 'No' }],
    ] as const) {
      const refused = await app.refused(key, { params: { id: 7_000_000 }, body }, 'uma');
      expect(refused).toMatchObject({ status: 404, detail: 'There is no handover "7000000".' });
    }
  });
});
