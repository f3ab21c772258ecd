/** Measurements in and alarms out over a real broker. */
import { randomBytes, randomUUID } from 'node:crypto';
import { setTimeout as wait } from 'node:timers/promises';
import { connectAsync, type MqttClient } from 'mqtt';
import { pino } from 'pino';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { Monitoring } from '../../api/monitoring/monitoring.ts';
import { refusedMeasurements } from '../../api/mqtt/refused-measurements.ts';
import { addressRule } from '../../api/notify/address-rule.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { type OpenDoors, openDoors } from '../../api/notify/open-doors.ts';
import { RefusedMeasurement } from '../../api/schemas.ts';
import { sealingBy } from '../../api/sealing.ts';
import { widths } from '../api/test-plant.ts';
import { seededRandom } from '../faults/writers.ts';
import { type Broker, noBroker, startBroker } from './broker.ts';
import { later, type NotifyPlant, openNotifyPlant, reach, rule } from './plant.ts';

let broker: Broker;
beforeAll(async () => {
  broker = await startBroker();
});
afterAll(() => broker.end());

let plant: NotifyPlant;
let doors: OpenDoors;
let prefix: string;
let gauge: MqttClient;
const came: { topic: string; body: string; retain: boolean }[] = [];
const log = pino({ level: 'silent' });

/** Opens the doors of the plant, as a start of the server does. */
async function open(monitoring: Monitoring = plant.monitoring): Promise<OpenDoors> {
  const opened = openDoors({
    settings: {
      mail: null,
      mqtt: { url: broker.url, clientId: `server-${prefix}`, topicPrefix: prefix },
      webhookRule: addressRule(''),
    },
    store: plant.store,
    sealing: sealingBy(randomBytes(32)),
    monitoring,
    clock: plant.clock,
    feed: createChangeFeed(),
    log,
    alone: true,
  });
  await until(opened.isListening, 'the subscription');
  return opened;
}

async function until(condition: () => Promise<boolean> | boolean, what: string): Promise<void> {
  const end = Date.now() + 30_000;
  while (!(await condition())) {
    if (Date.now() > end) throw new Error(`Waited in vain: ${what}`);
    await wait(15);
  }
}

const samples = () => plant.store.sampleCount();
const publish = (body: unknown, person = 'tech') =>
  gauge.publishAsync(`${prefix}/samples/${person}`, typeof body === 'string' ? body : JSON.stringify(body), {
    qos: 1,
  });

beforeEach(async () => {
  prefix = `works-${randomUUID().slice(0, 8)}`;
  plant = await openNotifyPlant({ topicPrefix: prefix });
  gauge = await connectAsync(broker.url, { protocolVersion: 5, reconnectPeriod: 100 });
  came.length = 0;
  gauge.on('message', (topic, body, { retain }) => came.push({ topic, body: String(body), retain }));
  await gauge.subscribeAsync([`${prefix}/alarms/#`, `${prefix}/refused/#`, `${prefix}/messages/#`], {
    qos: 1,
    rap: true,
  });
  doors = await open();
});
afterEach(async () => {
  await doors.end();
  await gauge.endAsync(true);
  await plant.close();
});

describe.skipIf(noBroker)('measurements in', () => {
  it('take the path of every sample, once however often they come', async () => {
    const sample = widths(127, plant.clock.time);
    await publish(sample);
    await publish(sample);
    const last = widths(127.01, plant.clock.time);
    await publish(last);
    await until(async () => (await plant.store.sample(last.id)) !== null, 'the last sample');
    expect(await samples()).toBe(2);
    expect(await plant.store.sample(sample.id)).toMatchObject({ door: 'mqtt', personId: 'tech', mean: 127 });
    expect(await plant.store.newestAnswer(sample.id)).toMatchObject({ verdict: { level: 'fine' } });
  });

  it('that were published while the server was away arrive', async () => {
    const first = widths(127, plant.clock.time);
    await publish(first);
    await until(async () => (await samples()) === 1, 'the first sample');
    await doors.end();
    const sent = Array.from({ length: 25 }, () => widths(127, plant.clock.time));
    for (const sample of sent) await publish(sample);
    expect(await samples()).toBe(1);
    doors = await open();
    await until(async () => (await samples()) === 26, 'what waited at the broker');
  });

  it.each([
    ['no JSON', () => 'width: 127', 'tech', 400],
    ['a missing unit', () => ({ ...widths(127, plant.clock.time), unit: undefined }), 'tech', 422],
    ['a stream that is not there', () => widths(127, plant.clock.time, { streamId: 'nowhere' }), 'tech', 404],
    ['a person who is not there', () => widths(127, plant.clock.time), 'nobody', 404],
    ['far too much', () => 'x'.repeat(200_000), 'tech', 413],
  ])('with %s are answered with the problem, and kept', async (_, bodyOf, person, status) => {
    const body = bodyOf();
    await publish(body, person);
    await until(() => came.length === 1, 'the answer');
    const answer = JSON.parse(came[0]!.body);
    expect(came[0]).toMatchObject({ topic: `${prefix}/refused/${person}`, retain: false });
    expect(answer).toMatchObject({ topic: `${prefix}/samples/${person}`, problem: { status } });
    expect(answer.problem.errors.length).toBeGreaterThan(0);
    expect(answer.sampleId).toBe(typeof body === 'string' ? null : body.id);
    const [kept] = await refusedMeasurements(plant.store.sql, 10, false);
    expect(kept).toMatchObject({ personId: person, acceptedAt: null });
    expect(RefusedMeasurement.shape.problem.parse(JSON.parse(kept!.problem)).status).toBe(status);
    expect(await samples()).toBe(0);
    // What comes after it is not held up.
    await publish(widths(127, plant.clock.time));
    await until(async () => (await samples()) === 1, 'the next sample');
  });

  it('are acknowledged only when they are durable: what fails is asked for again', async () => {
    await doors.end();
    let failing = true;
    let attempts = 0;
    doors = await open({
      ...plant.monitoring,
      accept: async (submission, by) => {
        attempts += 1;
        if (failing) throw new Error('the disk is away');
        return plant.monitoring.accept(submission, by);
      },
    });
    const sample = widths(127, plant.clock.time);
    await publish(sample);
    await until(() => attempts > 0, 'the first attempt');
    // The server goes before it has stored anything; a new one gets the message again.
    await doors.end();
    expect(await samples()).toBe(0);
    failing = false;
    doors = await open();
    await until(async () => (await samples()) === 1, 'the sample');
    expect(await refusedMeasurements(plant.store.sql, 10, true)).toEqual([]);
  });
});

describe.skipIf(noBroker)('alarms out', () => {
  const states = () => came.filter(({ topic }) => topic === `${prefix}/alarms/R1/width`);

  it('stand on the topic of their stream for whoever comes later', async () => {
    const id = await plant.signal();
    doors.wake();
    await until(() => states().length === 1, 'the alarm');
    expect(JSON.parse(states()[0]!.body)).toMatchObject({
      streamId: 'width',
      lineId: 'R1',
      alarms: [{ id, severity: 'process', state: 'unacknowledged', shelvedUntil: null }],
    });
    const latecomer = await connectAsync(broker.url, { protocolVersion: 5 });
    const seen: string[] = [];
    latecomer.on('message', (_, body, { retain }) => seen.push(`${retain} ${body}`));
    await latecomer.subscribeAsync(`${prefix}/alarms/+/width`, { qos: 1 });
    await until(() => seen.length === 1, 'the retained state');
    expect(seen[0]).toBe(`true ${states()[0]!.body}`);
    await latecomer.endAsync(true);
  });

  it('come to the topics of a rule', async () => {
    await plant.save(reach('first', { by: 'topic', topic: 'andon/line-1' }));
    await plant.save(rule());
    const id = await plant.signal();
    doors.wake();
    await until(() => came.some(({ topic }) => topic === `${prefix}/messages/andon/line-1`), 'the message');
    const message = came.find(({ topic }) => topic === `${prefix}/messages/andon/line-1`)!;
    expect(message.retain).toBe(false);
    expect(JSON.parse(message.body)).toMatchObject({ type: 'alarm.raised', data: { alarms: [{ id }] } });
  });

  // Ended in good order this broker keeps what it has acknowledged. Killed it may lose some, so the gauge sends again
  // what it sent, as one does that cannot trust its broker.
  it.each(['SIGTERM', 'SIGKILL'] as const)('and measurements in: nothing lost over %s', async (signal) => {
    const random = seededRandom(20);
    const sent = new Map<string, unknown>();
    let stop = false;
    // A gauge that keeps each sample until the broker has taken it.
    const measuring = (async () => {
      while (!stop) {
        later(plant, 0.01);
        const mean = sent.size % 4 === 0 ? 127.5 : 127;
        const sample = widths(mean, plant.clock.time);
        await publish(sample);
        sent.set(sample.id, sample);
        await wait(5);
      }
    })();
    for (let kill = 0; kill < 4; kill++) {
      await wait(50 + random.uniform() * 300);
      await broker.kill(signal);
      await wait(random.uniform() * 150);
      await broker.start();
    }
    await wait(200);
    stop = true;
    await measuring;
    if (signal === 'SIGKILL') for (const sample of sent.values()) await publish(sample);
    await until(async () => (await samples()) >= sent.size, 'every sample');
    expect(await samples()).toBe(sent.size);
    for (const id of sent.keys()) expect(await plant.store.sample(id)).not.toBeNull();

    // Every state that was written has gone out; the newest is the one that stands.
    later(plant, 20);
    doors.wake();
    const waiting = () =>
      plant.store.sql.one<{ count: number }>(
        `select count(*) as count from deliveries where state <> 'sent'`,
      );
    await until(async () => {
      later(plant, 1);
      doors.wake();
      return (await waiting())!.count === 0;
    }, 'every message');
    const written = await plant.store.sql.all<{ body: string }>(
      'select body from deliveries where topic = ? order by no',
      `${prefix}/alarms/R1/width`,
    );
    expect(written.length).toBeGreaterThan(2);
    const latecomer = await connectAsync(broker.url, { protocolVersion: 5 });
    const seen: string[] = [];
    latecomer.on('message', (_, body) => seen.push(String(body)));
    await latecomer.subscribeAsync(`${prefix}/alarms/R1/width`, { qos: 1 });
    await until(() => seen.length > 0, 'the retained state');
    expect(seen[0]).toBe(written.at(-1)!.body);
    await latecomer.endAsync(true);
  });
});
