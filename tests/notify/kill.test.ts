/** The server is killed (SIGKILL) right after it has stored an alarm, before or while it tells of it. */
import { randomUUID } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { connectAsync } from 'mqtt';
import { Webhook } from 'standardwebhooks';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { changeSecret } from '../../api/notify/webhook-secrets.ts';
import { saveRoutingRecord } from '../../api/routing/routing-records.ts';
import { sealingBy, sealingKey } from '../../api/sealing.ts';
import { sqliteEngine } from '../faults/engine.ts';
import { fillPlant, models, streamOf } from '../faults/plant.ts';
import { type ServerProcess, startProcess } from '../faults/server-process.ts';
import { seededRandom } from '../faults/writers.ts';
import { noBroker, startBroker } from './broker.ts';
import { reach, rule } from './plant.ts';

const lines = ['L1', 'L2'];
const engine = sqliteEngine();
const keyFolder = mkdtempSync(join(tmpdir(), 'runtrue-key-'));
const sealing = sealingBy(sealingKey(undefined, keyFolder));
const came: { headers: Record<string, string>; body: string }[] = [];
let answersNow = false;
const receiver = createServer((request, response) => {
  let body = '';
  request.on('data', (chunk) => {
    body += chunk;
  });
  request.on('end', () => {
    // A receiver that has taken the message but has not said so, when the sender dies.
    if (!answersNow) return;
    came.push({ headers: request.headers as Record<string, string>, body });
    response.end();
  });
});
let server: ServerProcess | null = null;

beforeAll(async () => {
  await new Promise<void>((done) => receiver.listen(0, '127.0.0.1', done));
});
afterAll(async () => {
  server?.kill('SIGKILL');
  await server?.ended;
  receiver.closeAllConnections();
  receiver.close();
  await engine.end();
  rmSync(keyFolder, { recursive: true });
});

it('tells of every alarm that was stored, however often it is killed in between', async () => {
  const store = await engine.open();
  const now = Date.now();
  await fillPlant(store, lines, now);
  const url = `http://127.0.0.1:${(receiver.address() as AddressInfo).port}/`;
  const secret = await store.transaction(async (transaction) => {
    for (const record of [reach('first', { by: 'webhook', url }), rule({ groupMinutes: 0 })]) {
      await saveRoutingRecord(transaction, record, 'for this test', 'engineer', now);
    }
    return changeSecret(transaction.sql, sealing, 'first', undefined, now);
  });
  await store.close();

  const environment = {
    ...engine.environment,
    WEBHOOK_NETWORKS: '127.0.0.0/8',
    SECRETS_KEY_FILE: join(keyFolder, 'secrets.key'),
  };
  for (const lineId of lines) {
    server = startProcess({ environment });
    const address = await server.ready;
    const response = await fetch(`${address}/api/samples`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'tech' },
      body: JSON.stringify({
        id: randomUUID(),
        streamId: streamOf(lineId),
        modelId: models[0],
        takenAt: new Date().toISOString(),
        unit: 'mm',
        readings: [127.6, 127.5, 127.6, 127.5, 127.6].map((value) => ({ value })),
      }),
    });
    const answer = await response.json();
    expect(response.status, JSON.stringify(answer)).toBe(200);
    expect(answer.alarmId).not.toBeNull();
    // At once, and while the message is on its way.
    if (lineId !== lines[0]) await wait(60);
    server.kill('SIGKILL');
    await server.ended;
  }
  expect(came).toEqual([]);

  answersNow = true;
  server = startProcess({ environment });
  await server.ready;
  const toldLines = (): Set<string> => new Set(came.map(({ body }) => JSON.parse(body).data.lineId));
  // A row that a killed server had claimed is free again after half a minute.
  const end = Date.now() + 50_000;
  while (toldLines().size < lines.length && Date.now() < end) await wait(50);
  expect([...toldLines()].sort()).toEqual(lines);
  for (const { headers, body } of came) new Webhook(secret).verify(body, headers);
  // Each message once: the receiver knows them by their ids.
  expect(new Set(came.map(({ headers }) => headers['webhook-id'])).size).toBe(lines.length);
}, 90_000);

it.skipIf(noBroker)(
  'loses no measurement that a gauge published while it was killed and away',
  async () => {
    server?.kill('SIGKILL');
    await server?.ended;
    const broker = await startBroker();
    const gauge = await connectAsync(broker.url, { protocolVersion: 5 });
    try {
      const environment = { ...engine.environment, MQTT_URL: broker.url, MQTT_CLIENT_ID: 'works' };
      const random = seededRandom(11);
      const sent: string[] = [];
      const publish = async (): Promise<void> => {
        const id = randomUUID();
        const sample = {
          id,
          streamId: streamOf('L1'),
          modelId: models[1],
          takenAt: new Date().toISOString(),
          unit: 'mm',
          readings: [127, 127.1, 126.9, 127, 127].map((value) => ({ value })),
        };
        await gauge.publishAsync('runtrue/samples/tech', JSON.stringify(sample), { qos: 1 });
        sent.push(id);
      };
      const end = Date.now() + 60_000;
      server = startProcess({ environment });
      // What comes before its very first subscription the broker keeps for nobody.
      const first = await server.ready;
      const count = async (): Promise<number> => (await (await fetch(`${first}/api/health`)).json()).samples;
      const before = await count();
      while ((await count()) === before && Date.now() < end) {
        await publish();
        await wait(50);
      }
      sent.length = 0;
      for (let kill = 0; kill < 2; kill++) {
        const until = Date.now() + 50 + random.uniform() * 200;
        while (Date.now() < until) await publish();
        server.kill('SIGKILL');
        await server.ended;
        for (let index = 0; index < 20; index++) await publish();
        server = startProcess({ environment });
        await server.ready;
      }
      const address = await server.ready;
      const missing = new Set(sent);
      while (missing.size > 0 && Date.now() < end) {
        for (const id of missing) {
          const response = await fetch(`${address}/api/samples/${id}`, {
            headers: { 'Runtrue-Person': 'tech' },
          });
          await response.body?.cancel();
          if (response.status !== 200) break;
          missing.delete(id);
        }
        await wait(50);
      }
      expect(sent.length).toBeGreaterThan(40);
      expect([...missing]).toEqual([]);
    } finally {
      await gauge.endAsync(true);
      await broker.end();
    }
  },
  120_000,
);
