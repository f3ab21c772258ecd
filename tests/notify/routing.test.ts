import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { createRouter } from '../../api/routing/route-alarms.ts';
import { refusal, widths } from '../api/test-plant.ts';
import { later, mailTo, type NotifyPlant, openNotifyPlant, rule, tech, written } from './plant.ts';

let plant: NotifyPlant;
beforeEach(async () => {
  plant = await openNotifyPlant();
  for (const id of ['first', 'second', 'third']) await plant.save(mailTo(id));
});
afterEach(() => plant.close());

const acknowledge = (alarmId: number) =>
  plant.monitoring.addAlarmEntry(alarmId, { id: randomUUID(), kind: 'acknowledged' }, tech);
/** Another alarm on the line: leaks are counted, and 30 of 300 are far too many. */
const leaks = async (nonconforming = 30) => {
  for (let index = 0; index < 8; index++) {
    later(plant, 0.01);
    await plant.monitoring.accept(leakSample(1), tech);
  }
  return (await plant.monitoring.accept(leakSample(nonconforming), tech)).answer.alarmId;
};
const leakSample = (nonconforming: number) => ({
  id: randomUUID(),
  streamId: 'leaks',
  modelId: 'Q10',
  takenAt: new Date(plant.clock.time).toISOString(),
  unit: '1' as const,
  count: { inspected: 300, nonconforming },
});

describe('who hears of an alarm', () => {
  it('writes one message a recipient, in the transaction of the alarm', async () => {
    await plant.save(rule({ steps: [{ afterMinutes: 0, recipientIds: ['first', 'second'] }] }));
    const alarmId = await plant.signal();
    const subject = 'The process has changed at Rim line 1: The width';
    expect(await written(plant)).toEqual([
      ['first', subject],
      ['second', subject],
    ]);
    const [row] = await plant.store.sql.all<{ body: string }>('select body from deliveries');
    expect(row!.body).toMatch(
      /^The width of Wheel Q10 at Rim line 1, Rim gauges, Stream of width, since 2025-09-03 08:00: Call the setter, because /,
    );
    expect(row!.body).toContain(`https://runtrue.example/floor?alarm=${alarmId}\n`);
  });

  it('writes nothing where the alarm itself is not stored', async () => {
    await plant.save(rule());
    const failing = createMonitoring({
      store: plant.store,
      clock: plant.clock,
      feed: createChangeFeed(),
      router: {
        ...createRouter({ pageAddress: '', topicPrefix: null }),
        alarmsChanged: async (transaction, changes, now) => {
          await createRouter({ pageAddress: '', topicPrefix: null }).alarmsChanged(transaction, changes, now);
          throw new Error('cut short');
        },
      },
    });
    const accepted = failing.accept(widths(127.5, plant.clock.time), tech);
    await expect(accepted).rejects.toThrow('cut short');
    expect(await written(plant)).toEqual([]);
    expect(await plant.monitoring.alarms({ limit: 10 })).toEqual([]);
  });

  it('tells nobody whose rule is for another line, severity or shift, or is not active', async () => {
    await plant.monitoring.savePlantRecord(
      {
        kind: 'lines',
        record: {
          id: 'R2',
          name: 'Rim line 2',
          partsPerHour: 300,
          runningHours: { start: '06:00', end: '22:00', weekdays: [1] },
        },
      },
      '',
      { personId: 'engineer', door: 'page', how: 'named' },
    );
    const shift = { id: 'late', name: 'Late', start: '14:00', end: '22:00', weekdays: [1, 2, 3, 4, 5] };
    await plant.save({ kind: 'shifts', record: shift });
    await plant.save(rule({ id: 'other-line', lineIds: ['R2'] }));
    await plant.save(rule({ id: 'product-only', severities: ['product', 'safety'] }));
    await plant.save(rule({ id: 'late', shiftIds: ['late'] }));
    await plant.save(rule({ id: 'idle', active: false }));
    const alarmId = await plant.signal();
    expect(await written(plant)).toEqual([]);
    // The same rules in the late shift: 08:00 and seven hours.
    await acknowledge(alarmId);
    later(plant, 7 * 60);
    await plant.monitoring.accept(widths(127, plant.clock.time), tech);
    later(plant, 1);
    await plant.signal();
    expect((await written(plant)).map(([id]) => id)).toEqual(['first']);
  });

  it('tells a person once whom two rules name', async () => {
    await plant.save(rule({ id: 'a' }));
    await plant.save(rule({ id: 'b' }));
    await plant.signal();
    expect(await written(plant)).toHaveLength(1);
  });

  it('puts safety before everything, then parts outside the drawing', async () => {
    await plant.save(rule());
    const alarmId = await plant.outside();
    expect(await written(plant)).toEqual([['first', 'Outside the drawing at Rim line 1: The width']]);
    expect((await plant.monitoring.alarm(alarmId)).alarm.severity).toBe('product');
    await plant.save({ kind: 'safety', record: { characteristicIds: ['width'] } });
    expect((await plant.monitoring.alarm(alarmId)).alarm.severity).toBe('safety');
  });
});

describe('one message for one incident', () => {
  it('takes further alarms of the line into it, and begins anew when the time is over', async () => {
    await plant.save(rule({ groupMinutes: 15, severities: ['process', 'product'] }));
    await plant.outside();
    later(plant, 14);
    const second = await leaks();
    expect(second).toBeGreaterThan(1);
    expect(await written(plant)).toHaveLength(1);
    later(plant, 2);
    await acknowledge(second!);
    await plant.monitoring.accept(leakSample(0), tech);
    later(plant, 1);
    await plant.monitoring.accept(leakSample(40), tech);
    expect(await written(plant)).toHaveLength(2);
  });

  it('begins anew when every alarm of it is acknowledged', async () => {
    await plant.save(rule({ groupMinutes: 60 }));
    await acknowledge(await plant.outside());
    await leaks();
    expect(await written(plant)).toHaveLength(2);
  });

  it('says so when it becomes worse', async () => {
    await plant.save(rule({ groupMinutes: 60 }));
    await plant.signal();
    later(plant, 1);
    await plant.outside();
    expect((await written(plant)).map(([, subject]) => subject)).toEqual([
      'The process has changed at Rim line 1: The width',
      'Worse: Outside the drawing at Rim line 1: The width',
    ]);
  });

  it('does not repeat an alarm that goes and comes while nobody has acknowledged', async () => {
    await plant.save(rule({ groupMinutes: 60 }));
    const alarmId = await plant.signal();
    for (const mean of [127, 127.5, 127, 127.5]) {
      later(plant, 1);
      await plant.monitoring.accept(widths(mean, plant.clock.time), tech);
    }
    const { entries } = await plant.monitoring.alarm(alarmId);
    expect(entries.filter(({ kind }) => kind === 'raised-again')).toHaveLength(2);
    // The first incident is its own; it is not told twice within the hour.
    expect(await written(plant)).toHaveLength(1);
  });
});

describe('escalation', () => {
  const steps = [
    { afterMinutes: 0, recipientIds: ['first'] },
    { afterMinutes: 10, recipientIds: ['second'] },
    { afterMinutes: 30, recipientIds: ['third'] },
  ];

  it('goes on to the next while nobody acknowledges, also over a restart', async () => {
    await plant.save(rule({ steps }));
    await plant.signal();
    later(plant, 9.9);
    await plant.monitoring.catchUp();
    expect(await written(plant)).toHaveLength(1);
    await plant.reopen();
    plant.monitoring = createMonitoring({
      store: plant.store,
      clock: plant.clock,
      feed: createChangeFeed(),
    });
    later(plant, 0.2);
    await plant.monitoring.catchUp();
    await plant.monitoring.catchUp();
    expect((await written(plant)).at(-1)).toEqual([
      'second',
      'Nobody has acknowledged: The process has changed at Rim line 1: The width',
    ]);
    expect(await written(plant)).toHaveLength(2);
    later(plant, 20);
    await plant.monitoring.catchUp();
    later(plant, 1000);
    await plant.monitoring.catchUp();
    expect((await written(plant)).map(([id]) => id)).toEqual(['first', 'second', 'third']);
  });

  it('ends when somebody acknowledges', async () => {
    await plant.save(rule({ steps }));
    await acknowledge(await plant.signal());
    later(plant, 60);
    await plant.monitoring.catchUp();
    expect((await written(plant)).map(([id]) => id)).toEqual(['first']);
  });

  it('tells once more, and no further, when an alarm that somebody has becomes worse', async () => {
    await plant.save(rule({ steps }));
    await acknowledge(await plant.signal());
    later(plant, 1);
    await plant.outside();
    later(plant, 60);
    await plant.monitoring.catchUp();
    expect(await written(plant)).toEqual([
      ['first', 'The process has changed at Rim line 1: The width'],
      ['first', 'Outside the drawing at Rim line 1: The width'],
    ]);
  });

  it('also for an alarm that went back to normal by itself', async () => {
    await plant.save(rule({ steps }));
    await plant.signal();
    later(plant, 1);
    await plant.monitoring.accept(widths(127, plant.clock.time), tech);
    later(plant, 10);
    await plant.monitoring.catchUp();
    expect((await written(plant)).map(([id]) => id)).toEqual(['first', 'second']);
  });

  it('is taken once by two servers that come to it together', async () => {
    await plant.save(rule({ steps }));
    await plant.signal();
    later(plant, 11);
    const other = createMonitoring({ store: plant.store, clock: plant.clock, feed: createChangeFeed() });
    await Promise.all([plant.monitoring.catchUp(), other.catchUp()]);
    expect(await written(plant)).toHaveLength(2);
  });
});

describe('the shelf', () => {
  const shelve = (alarmId: number, minutesLong = 30, id = randomUUID() as string) =>
    plant.monitoring.shelve(
      alarmId,
      { id, minutes: minutesLong, reason: 'The roll change is at two.' },
      tech,
    );

  it('keeps an alarm visible and quiet, with who, why and until when', async () => {
    await plant.save(
      rule({
        steps: [
          ...[{ afterMinutes: 0, recipientIds: ['first'] }],
          { afterMinutes: 5, recipientIds: ['second'] },
        ],
      }),
    );
    const alarmId = await plant.signal();
    const { alarm, entries } = await shelve(alarmId);
    expect(alarm.shelved).toEqual({
      personId: 'tech',
      reason: 'The roll change is at two.',
      since: '2025-09-03T08:00:00.000Z',
      until: '2025-09-03T08:30:00.000Z',
    });
    expect(entries.at(-1)).toMatchObject({
      kind: 'shelved',
      personId: 'tech',
      text: 'Until 2025-09-03 08:30: The roll change is at two.',
    });
    later(plant, 10);
    await plant.monitoring.catchUp();
    expect(await written(plant)).toHaveLength(1);
  });

  it('gives it back by itself, and calls anew', async () => {
    await plant.save(rule());
    const alarmId = await plant.signal();
    await shelve(alarmId);
    later(plant, 29);
    await plant.monitoring.catchUp();
    expect((await plant.monitoring.alarm(alarmId)).alarm.shelved).not.toBeNull();
    later(plant, 1);
    expect((await plant.monitoring.alarm(alarmId)).alarm.shelved).toBeNull();
    await plant.monitoring.catchUp();
    await plant.monitoring.catchUp();
    const { entries } = await plant.monitoring.alarm(alarmId);
    expect(entries.filter(({ kind }) => kind === 'unshelved')).toEqual([
      expect.objectContaining({ personId: null, text: 'Its time on the shelf is over.' }),
    ]);
    expect(await written(plant)).toHaveLength(2);
  });

  it('gives it back when it becomes worse', async () => {
    await plant.save(rule());
    const alarmId = await plant.signal();
    await shelve(alarmId);
    later(plant, 1);
    await plant.outside();
    const { alarm, entries } = await plant.monitoring.alarm(alarmId);
    expect(alarm.shelved).toBeNull();
    expect(entries.at(-1)).toMatchObject({ kind: 'unshelved', personId: null });
    expect(await written(plant)).toHaveLength(2);
  });

  it.each<[string, number, number, string | null]>([
    ['stays where it was', 127.35, 127.35, null],
    ['goes on a little', 127.35, 127.5, null],
    ['is twice as far from its center line', 127.35, 127.75, 'the location of a sample is at least twice'],
    ['is on the other side', 127.35, 126.6, 'a signal of another kind'],
    ['has pieces outside the drawing', 127.5, 127.95, 'it is more severe'],
    ['has as many pieces outside', 127.95, 127.95, null],
    ['has twice as many pieces outside', 127.95, 128.15, 'twice the share of pieces outside'],
  ])('knows what is worse: a process that %s', async (_, before, after, because) => {
    await plant.save(rule());
    const take = async (mean: number) =>
      (await plant.monitoring.accept(widths(mean, plant.clock.time), tech)).answer.alarmId;
    const alarmId = (await take(before))!;
    await shelve(alarmId);
    later(plant, 1);
    expect(await take(after)).toBe(alarmId);
    const { alarm, entries } = await plant.monitoring.alarm(alarmId);
    expect(alarm.shelved === null).toBe(because !== null);
    expect(await written(plant)).toHaveLength(because === null ? 1 : 2);
    if (because !== null) {
      expect(entries.at(-1)).toMatchObject({ kind: 'unshelved', personId: null });
      expect(entries.at(-1)?.text).toContain(because);
    }
  });

  it('takes a correction for what it says, and a piece farther outside for worse', async () => {
    const one = (value: number) => ({
      readings: [127, 127, 127, 127, value].map((each) => ({ value: each })),
    });
    const { answer } = await plant.monitoring.accept(widths(127, plant.clock.time, one(128.05)), tech);
    const alarmId = answer.alarmId!;
    await shelve(alarmId);
    later(plant, 1);
    const correct = (revision: number, value: number) =>
      plant.monitoring.correct(
        answer.sampleId,
        { id: randomUUID(), revision, reason: 'Measured again.', ...one(value) },
        tech,
      );
    await correct(1, 128.08);
    await plant.monitoring.accept(widths(127, plant.clock.time, one(128.09)), tech);
    expect((await plant.monitoring.alarm(alarmId)).alarm.shelved).not.toBeNull();
    await correct(2, 128.02);
    expect((await plant.monitoring.alarm(alarmId)).alarm.shelved).not.toBeNull();
    later(plant, 1);
    await plant.monitoring.accept(widths(127, plant.clock.time, one(128.11)), tech);
    const { alarm, entries } = await plant.monitoring.alarm(alarmId);
    expect(alarm.shelved).toBeNull();
    expect(entries.at(-1)?.text).toContain('a piece is at least twice as far outside the drawing');
  });

  it('tells those who know the incident that it is worse, though others of it are open', async () => {
    await plant.save(rule({ groupMinutes: 60 }));
    await leaks();
    const alarmId = await plant.signal();
    expect(await written(plant)).toHaveLength(1);
    await shelve(alarmId);
    later(plant, 1);
    await plant.monitoring.accept(widths(126.6, plant.clock.time), tech);
    expect((await plant.monitoring.alarm(alarmId)).alarm.shelved).toBeNull();
    expect((await written(plant)).map(([, subject]) => subject.split(':')[0])).toEqual([
      'Outside the drawing at Rim line 1',
      'Worse',
    ]);
  });

  it('ends with the alarm', async () => {
    const alarmId = await plant.signal();
    await shelve(alarmId);
    await acknowledge(alarmId);
    for (const entry of [
      { kind: 'cause', text: 'A worn roll.' },
      { kind: 'closed', text: 'The next sample.' },
    ] as const) {
      await plant.monitoring.addAlarmEntry(
        alarmId,
        { id: randomUUID(), ...entry },
        { personId: 'engineer', door: 'page', how: 'named' },
      );
    }
    const { alarm, entries } = await plant.monitoring.alarm(alarmId);
    expect(alarm).toMatchObject({ state: 'closed', shelved: null });
    expect(entries.at(-1)).toMatchObject({
      kind: 'unshelved',
      personId: null,
      text: 'The alarm was closed.',
    });
  });

  it('is refused twice, for safety, for a closed alarm, and repeated without harm', async () => {
    const alarmId = await plant.signal();
    const id = randomUUID();
    await shelve(alarmId, 30, id);
    await shelve(alarmId, 30, id);
    const { entries } = await plant.monitoring.alarm(alarmId);
    expect(entries.filter(({ kind }) => kind === 'shelved')).toHaveLength(1);
    expect(await refusal(shelve(alarmId), 409, 'id')).toContain('Tech has shelved it already');
    await plant.monitoring.unshelve(alarmId, { id: randomUUID(), reason: 'I look again.' }, tech);
    await refusal(
      plant.monitoring.unshelve(alarmId, { id: randomUUID(), reason: 'Once more.' }, tech),
      409,
      'id',
    );
    await plant.save({ kind: 'safety', record: { characteristicIds: ['width'] } });
    expect(await refusal(shelve(alarmId), 409, 'id')).toContain('about safety');
  });
});
