/** Two servers on one PostgreSQL: each message goes out once, each step is taken once. */
import { randomUUID } from 'node:crypto';
import { setTimeout as wait } from 'node:timers/promises';
import { pino } from 'pino';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { addDelivery, deliveryCounts } from '../../api/notify/deliveries.ts';
import { createSender } from '../../api/notify/send-deliveries.ts';
import type { Store } from '../../api/store/store.ts';
import { widths } from '../api/test-plant.ts';
import { databasesOf } from '../store/engines.ts';
import { later, mailTo, type NotifyPlant, openNotifyPlant, rule, tech, written } from './plant.ts';

const newDatabase = await databasesOf('postgres');
const log = pino({ level: 'silent' });
let plant: NotifyPlant;
let other: Store;
beforeEach(async () => {
  const database = newDatabase();
  plant = await openNotifyPlant({ database });
  other = database.open();
});
afterEach(async () => {
  await other.close();
  await plant.close();
});

it('sends each of many messages from one of the two', async () => {
  const { store, clock } = plant;
  await store.transaction(async ({ sql }) => {
    for (let index = 0; index < 120; index++) {
      // Some in the order of their topic.
      const topic = index % 3 === 0 ? `t${index % 4}` : null;
      await addDelivery(
        sql,
        { door: 'mqtt', recipientId: null, topic, subject: String(index), body: '{}' },
        clock.now(),
      );
    }
  });
  const sent: string[][] = [[], []];
  const senderOn = (node: number) =>
    createSender({
      store: [store, other][node]!,
      clock,
      log,
      doors: {
        mqtt: async ({ subject }) => {
          sent[node]!.push(subject);
          await wait(2);
        },
      },
    });
  const stopping = new AbortController().signal;
  await Promise.all([senderOn(0)('mqtt', stopping), senderOn(1)('mqtt', stopping)]);
  // Whoever came last may have left the other's newest to it; one more look, as each node takes every second.
  await senderOn(0)('mqtt', stopping);
  expect(await deliveryCounts(store.sql)).toEqual({ waiting: 0, sent: 120, dead: 0 });
  expect(new Set(sent.flat()).size).toBe(120);
  expect(sent.flat()).toHaveLength(120);
  expect(sent.every(({ length }) => length > 0)).toBe(true);
});

it('takes each step of an escalation, and each way back from the shelf, on one of the two', async () => {
  const steps = [
    { afterMinutes: 0, recipientIds: ['first'] },
    { afterMinutes: 10, recipientIds: ['second'] },
  ];
  await plant.save(mailTo('first'));
  await plant.save(mailTo('second'));
  await plant.save(rule({ steps }));
  const alarmId = await plant.signal();
  const nodes = [plant.store, other].map((store) =>
    createMonitoring({ store, clock: plant.clock, feed: createChangeFeed() }),
  );
  later(plant, 11);
  await Promise.all(nodes.map((node) => node.catchUp()));
  expect((await written(plant)).map(([id]) => id)).toEqual(['first', 'second']);
  await nodes[1]!.shelve(
    alarmId,
    { id: 'b5f1b9f0-2f9f-4b6e-9d3e-0f7a5b1c2d3e', minutes: 5, reason: 'Known.' },
    { personId: 'tech', door: 'page', how: 'named' },
  );
  later(plant, 6);
  await Promise.all(nodes.map((node) => node.catchUp()));
  const { entries } = await nodes[0]!.alarm(alarmId);
  expect(entries.filter(({ kind }) => kind === 'unshelved')).toHaveLength(1);
});

it('makes one incident, and one message, of two alarms that two nodes store at the same instant', async () => {
  await plant.save(mailTo('first'));
  await plant.save(rule({ groupMinutes: 30 }));
  const nodes = [plant.store, other].map((store) =>
    createMonitoring({ store, clock: plant.clock, feed: createChangeFeed() }),
  );
  const leaks = (nonconforming: number) => ({
    id: randomUUID(),
    streamId: 'leaks',
    modelId: 'Q10',
    takenAt: new Date(plant.clock.time).toISOString(),
    unit: '1' as const,
    count: { inspected: 300, nonconforming },
  });
  for (let index = 0; index < 8; index++) {
    later(plant, 0.01);
    await nodes[0]!.accept(leaks(1), tech);
  }
  const count = async (table: string): Promise<number> =>
    (await other.sql.one<{ count: number }>(`select count(*) as count from ${table}`))!.count;
  for (let round = 1; round <= 15; round++) {
    // Both alarms are new, or came back to normal and were acknowledged.
    later(plant, 1);
    const alarms = await Promise.all([
      nodes[round % 2]!.accept(widths(127.95, plant.clock.time), tech),
      nodes[(round + 1) % 2]!.accept(leaks(40), tech),
    ]);
    expect(await count('incidents')).toBe(round);
    expect(await count('deliveries')).toBe(round);
    later(plant, 1);
    for (const { answer } of alarms) {
      await nodes[0]!.addAlarmEntry(answer.alarmId!, { id: randomUUID(), kind: 'acknowledged' }, tech);
    }
    await Promise.all([
      nodes[0]!.accept(widths(127, plant.clock.time), tech),
      nodes[1]!.accept(leaks(0), tech),
    ]);
  }
});

it('comes back from the shelf once, and escalates once, however often two nodes look at the same instant', async () => {
  const steps = [
    { afterMinutes: 0, recipientIds: ['first'] },
    { afterMinutes: 10, recipientIds: ['second'] },
  ];
  await plant.save(mailTo('first'));
  await plant.save(mailTo('second'));
  await plant.save(rule({ steps, groupMinutes: 1 }));
  const alarmId = await plant.signal();
  const nodes = [plant.store, other].map((store) =>
    createMonitoring({ store, clock: plant.clock, feed: createChangeFeed() }),
  );
  // Several looks of each node, and samples of other streams in between.
  const look = () =>
    Promise.all([...nodes, ...nodes].flatMap((node) => [node.catchUp(), node.accept(force(), tech)]));
  const force = () => ({
    id: randomUUID(),
    streamId: 'force',
    modelId: 'Q10',
    takenAt: new Date(plant.clock.time).toISOString(),
    unit: 'kN' as const,
    readings: [{ value: 10 }],
  });
  for (let round = 1; round <= 8; round++) {
    const before = (await written(plant)).length;
    const shelving = { id: randomUUID(), minutes: 5, reason: 'Known.' };
    await nodes[round % 2]!.shelve(alarmId, shelving, tech);
    later(plant, 6);
    await look();
    const { entries } = await nodes[0]!.alarm(alarmId);
    expect(entries.filter(({ kind }) => kind === 'unshelved')).toHaveLength(round);
    later(plant, 11);
    await look();
    expect((await written(plant)).slice(before).map(([id]) => id)).toEqual(['first', 'second']);
  }
});
