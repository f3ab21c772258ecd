import { randomUUID } from 'node:crypto';
import { parse } from 'csv-parse/sync';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { alarmCalls, alarmReport } from '../../api/routing/alarm-report.ts';
import { alarmCallsCsv } from '../../api/routing/alarm-report-csv.ts';
import { floodsNow } from '../../api/routing/floods.ts';
import { AlarmReport } from '../../api/schemas.ts';
import { widths } from '../api/test-plant.ts';
import { later, mailTo, minutes, morning, type NotifyPlant, openNotifyPlant, rule, tech } from './plant.ts';

let plant: NotifyPlant;
beforeEach(async () => {
  plant = await openNotifyPlant();
});
afterEach(() => plant.close());

const acknowledge = (alarmId: number) =>
  plant.monitoring.addAlarmEntry(alarmId, { id: randomUUID(), kind: 'acknowledged' }, tech);
const fine = () => plant.monitoring.accept(widths(127, plant.clock.time), tech);
const period = { from: morning - minutes(60), to: morning + minutes(23 * 60) };
const report = () => alarmReport(plant.store, period, 10, plant.clock.time);

/** Raised at 08:00, acknowledged after 4 min, gone after 20; raised again at 08:30 and acknowledged after 15. */
async function twoCalls(): Promise<number> {
  const alarmId = await plant.signal();
  later(plant, 4);
  await acknowledge(alarmId);
  later(plant, 16);
  await fine();
  later(plant, 10);
  await plant.outside();
  later(plant, 15);
  await acknowledge(alarmId);
  return alarmId;
}

describe('the report of alarms', () => {
  it('counts each time that an alarm called, and how it was answered', async () => {
    const shifts = [
      { id: 'early', name: 'Early', start: '06:00', end: '08:15', weekdays: [3] },
      { id: 'sunday', name: 'Sunday', start: '06:00', end: '22:00', weekdays: [7] },
    ];
    for (const record of shifts) await plant.save({ kind: 'shifts', record });
    const alarmId = await twoCalls();
    const found = AlarmReport.parse(await report());
    expect(found).toMatchObject({
      alarms: 2,
      hours: [{ from: '2025-09-03T08:00:00.000Z', alarms: 2 }],
      shifts: [
        { id: 'early', alarms: 1 },
        { id: 'outside', alarms: 1 },
      ],
      lines: [{ id: 'R1', alarms: 2 }],
      streams: [{ id: 'width', alarms: 2 }],
      acknowledged: { withinMinutes: 10, inTime: 1, late: 1, waiting: 0, share: 0.5 },
      longestStanding: [
        { alarmId, minutes: 20, endedAt: '2025-09-03T08:20:00.000Z' },
        { alarmId, minutes: 15, endedAt: null },
      ],
      mostFrequent: [{ streamId: 'width', alarms: 2, share: 1 }],
      floods: [],
      timeInFlood: 0,
      shelvings: 0,
    });
    // From 07:00 until now, 08:45.
    expect(found.alarmsPerHour).toBeCloseTo(2 / 1.75, 10);
  });

  it('leaves open what can still be acknowledged in time', async () => {
    await plant.signal();
    later(plant, 10);
    expect((await report()).acknowledged).toMatchObject({ inTime: 0, late: 0, waiting: 1, share: null });
    later(plant, 0.1);
    expect((await report()).acknowledged).toMatchObject({ inTime: 0, late: 1, waiting: 0, share: 0 });
  });

  it('is empty for a plant without alarms, and counts nothing outside its period', async () => {
    expect(AlarmReport.parse(await report())).toMatchObject({ alarms: 0, alarmsPerHour: 0 });
    await plant.signal();
    const before = { from: morning - minutes(60), to: morning - 1 };
    expect(await alarmReport(plant.store, before, 10, plant.clock.time)).toMatchObject({ alarms: 0 });
  });

  it('gives the same as CSV, one row a call, without formulas', async () => {
    const alarmId = await twoCalls();
    const calls = await alarmCalls(plant.store, period);
    const rows = parse(alarmCallsCsv(calls, 120), { columns: true }) as Record<string, string>[];
    expect(rows).toHaveLength(2);
    expect(rows[0]).toMatchObject({
      'called at': '2025-09-03 10:00',
      alarm: String(alarmId),
      line: 'R1',
      stream: 'width',
      'minutes to acknowledge': '4.0',
      'minutes standing': '20.0',
    });
    expect(rows[1]).toMatchObject({
      'ended at': '',
      'minutes standing': '',
      'minutes to acknowledge': '15.0',
    });
    const [call] = calls;
    const hostile = alarmCallsCsv([{ ...call!, sentence: '=HYPERLINK("x"),\n1' }], 0);
    expect((parse(hostile, { columns: true }) as Record<string, string>[])[0]!.what).toBe(
      `'=HYPERLINK("x"),\n1`,
    );
  });

  it('counts an alarm once for a person, by however many ways and messages it comes', async () => {
    await plant.save(mailTo('first', 'tech'));
    await plant.save(mailTo('again', 'tech'));
    await plant.save(mailTo('second', 'engineer'));
    const steps = [
      { afterMinutes: 0, recipientIds: ['first', 'again'] },
      { afterMinutes: 5, recipientIds: ['first', 'second'] },
    ];
    await plant.save(rule({ groupMinutes: 60, steps }));
    const told = () =>
      plant.store.sql.all<{ personId: string; count: number }>(
        'select person_id as "personId", count(*) as count from told_people group by person_id order by person_id',
      );
    await plant.signal();
    expect(await told()).toEqual([{ personId: 'tech', count: 1 }]);
    later(plant, 6);
    await plant.monitoring.catchUp();
    expect(await told()).toEqual([
      { personId: 'engineer', count: 1 },
      { personId: 'tech', count: 1 },
    ]);
    // Worse is a call of its own.
    later(plant, 1);
    await plant.outside();
    expect((await told()).map(({ count }) => count)).toEqual([2, 2]);
  });

  it('shows floods of the board and of a person', async () => {
    await plant.save(mailTo('first', 'tech'));
    await plant.save(rule({ groupMinutes: 0 }));
    for (let index = 0; index < 11; index++) {
      await plant.signal();
      later(plant, 0.3);
      await fine();
      later(plant, 0.3);
    }
    const flood = { from: '2025-09-03T08:00:00.000Z', to: null, alarms: 11 };
    const now = await floodsNow(plant.store.sql, plant.clock.time);
    expect(now).toEqual([
      { personId: null, ...flood },
      { personId: 'tech', ...flood },
    ]);
    expect((await report()).floods).toEqual(now);
    // Since 08:00, of the time since 07:00.
    const since = plant.clock.time - morning;
    expect((await report()).timeInFlood).toBeCloseTo(since / (since + minutes(60)), 10);
    later(plant, 60);
    expect(await floodsNow(plant.store.sql, plant.clock.time)).toEqual([]);
    expect((await report()).floods.map(({ personId, to }) => [personId, to])).toEqual([
      [null, expect.any(String)],
      ['tech', expect.any(String)],
    ]);
  });
});
