/** Alarms that no rule tells anybody of: Setup says which, and the board says so of each. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { routingRecords } from '../../api/routing/routing-records.ts';
import { unheard } from '../../api/routing/unheard.ts';
import type { RoutingRule, Shift } from '../../api/schemas.ts';
import { widths } from '../api/test-plant.ts';
import { later, mailTo, type NotifyPlant, openNotifyPlant, rule, tech } from './plant.ts';

let plant: NotifyPlant;
beforeEach(async () => {
  plant = await openNotifyPlant();
  await plant.save(mailTo('first'));
});
afterEach(() => plant.close());

const shift = (id: string, start: string, end: string, weekdays = [1, 2, 3, 4, 5, 6, 7]) => {
  const record: Shift = { id, name: id, start, end, weekdays };
  return plant.save({ kind: 'shifts', record });
};
const early = () => shift('Early', '06:00', '14:00');
const late = () => shift('Late', '14:00', '22:00');
const night = () => shift('Night', '22:00', '06:00');
const sentences = async () => unheard(await plant.store.plantModel(), await routingRecords(plant.store.sql));

describe('Setup says of which alarms nobody hears', () => {
  const one: Partial<RoutingRule> = { severities: ['safety', 'product', 'process'] };
  it.each<[string, readonly Partial<RoutingRule>[], string[]]>([
    [
      'without a rule',
      [],
      ['Nobody is told of parts outside the drawing or a process that has changed on Rim line 1.'],
    ],
    ['with one for everything', [one], []],
    [
      'with one that is off',
      [{ ...one, active: false }],
      ['Nobody is told of parts outside the drawing or a process that has changed on Rim line 1.'],
    ],
    [
      'with one for the worst alone',
      [{ severities: ['product'] }],
      ['Nobody is told of a process that has changed on Rim line 1.'],
    ],
    [
      'with one for a shift',
      [
        { ...one, severities: ['product'] },
        { severities: ['process'], shiftIds: ['Early'] },
      ],
      ['Nobody is told of a process that has changed on Rim line 1 in the shifts Late and Night.'],
    ],
    [
      'with one for each shift',
      [
        { ...one, shiftIds: ['Early', 'Late'] },
        { ...one, shiftIds: ['Night'] },
      ],
      [],
    ],
  ])('%s', async (_, rules, expected) => {
    await early();
    await late();
    await night();
    for (const [index, changes] of rules.entries()) await plant.save(rule({ id: `r${index}`, ...changes }));
    expect(await sentences()).toEqual(expected);
  });

  it('at times of no shift, on one of several lines, and about safety', async () => {
    await plant.monitoring.savePlantRecord(
      {
        kind: 'lines',
        record: {
          id: 'R2',
          name: 'Rim line 2',
          partsPerHour: 1,
          runningHours: { start: '06:00', end: '22:00', weekdays: [1] },
        },
      },
      '',
      { personId: 'engineer', door: 'page', how: 'named' },
    );
    await shift('Early', '06:00', '14:00', [1, 2, 3, 4, 5]);
    await plant.save(rule({ shiftIds: ['Early'] }));
    await plant.save({ kind: 'safety', record: { characteristicIds: ['force'] } });
    expect(await sentences()).toEqual([
      'Nobody is told of safety, parts outside the drawing or a process that has changed on Rim line 1 outside all shifts.',
    ]);
    await plant.save(rule({ id: 'rest', lineIds: ['R2'] }));
    expect(await sentences()).toHaveLength(1);
  });
});

describe('the board says of an alarm that nobody was told', () => {
  const nobodyTold = async (alarmId: number) => (await plant.monitoring.alarm(alarmId)).alarm.nobodyTold;

  it('where rules are there and none matches', async () => {
    const alarmId = await plant.signal();
    // Whoever has no rules does not expect messages.
    expect(await nobodyTold(alarmId)).toBe(false);
    await plant.save(rule({ severities: ['product'] }));
    expect(await nobodyTold(alarmId)).toBe(true);
    later(plant, 1);
    await plant.outside();
    expect(await nobodyTold(alarmId)).toBe(false);
  });

  it('anew each time that it calls', async () => {
    await shift('Early', '06:00', '14:00');
    await plant.save(rule({ shiftIds: ['Early'] }));
    const alarmId = await plant.signal();
    expect(await nobodyTold(alarmId)).toBe(false);
    later(plant, 60 * 7);
    await plant.monitoring.addAlarmEntry(alarmId, { id: randomUUID(), kind: 'acknowledged' }, tech);
    await plant.monitoring.accept(widths(127, plant.clock.time), tech);
    expect(await nobodyTold(alarmId)).toBe(false);
    later(plant, 1);
    await plant.signal();
    expect(await nobodyTold(alarmId)).toBe(true);
  });
});
