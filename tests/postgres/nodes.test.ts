/** Two server processes on one database. */
import { randomUUID } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import pg from 'pg';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { type Loose, requestTo } from '../api/assemble-app.ts';
import { setLimits, setUpPlant } from '../api/small-plant.ts';
import { type RunningServer, startServer } from '../browser/server.ts';
import { adminAddress, emptyDatabase } from './databases.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-nodes-'));
const wide = { from: 0, to: Number.MAX_SAFE_INTEGER };
let database: string;
let nodes: RunningServer[];

async function send(node: RunningServer, ...sent: Parameters<typeof requestTo>): Promise<Response> {
  const request = requestTo(...sent);
  const { pathname, search } = new URL(request.url);
  const body = request.method === 'GET' ? undefined : await request.text();
  return fetch(`${node.address}${pathname}${search}`, {
    method: request.method,
    headers: request.headers,
    ...(body !== undefined && { body }),
  });
}

beforeAll(async () => {
  database = await emptyDatabase();
  const start = (name: string) =>
    startServer({
      program: 'main',
      dataFolder: join(folder, name),
      environment: { DATABASE_URL: database },
    });
  // At the same moment, on a database without a schema: it is made once.
  nodes = await Promise.all([start('a'), start('b')]);
  const call = async (key: Parameters<typeof requestTo>[0], sent?: unknown, person?: string | null) => {
    const response = await send(nodes[0]!, key, sent as Loose, person);
    const text = await response.text();
    expect(response.status, `${key}: ${text}`).toBe(200);
    return JSON.parse(text);
  };
  await setUpPlant({ call } as never);
  await setLimits({ call } as never);
});
afterAll(async () => {
  await Promise.all(nodes.map((node) => node.stop()));
  rmSync(folder, { recursive: true });
});

/** A width with this mean, taken now but for some seconds. */
const width = (mean: number, secondsAgo: number, id: string = randomUUID()) => ({
  id,
  streamId: 'C5-R1',
  modelId: 'Q10',
  takenAt: new Date(Date.now() - secondsAgo * 1000).toISOString(),
  unit: 'mm',
  readings: [-0.2, -0.1, 0, 0.1, 0.2].map((difference) => ({
    value: Math.round((mean + difference) * 100) / 100,
  })),
});

async function accepted(node: RunningServer, body: unknown) {
  const response = await send(node, 'POST /api/samples', { body });
  const answer = await response.json();
  expect(response.status, JSON.stringify(answer)).toBe(200);
  return answer as { sampleId: string; alarmId: number | null; signals: { rule: string }[] };
}

/** The event stream of a node; `until` resolves with the time at which a text has come. */
async function board(node: RunningServer) {
  const gone = new AbortController();
  const response = await fetch(`${node.address}/api/stream`, {
    headers: { 'Runtrue-Person': 'kim' },
    signal: gone.signal,
  });
  let text = '';
  let ended = false;
  const reading = (async () => {
    const reader = response.body!.pipeThrough(new TextDecoderStream()).getReader();
    for (;;) {
      const { value, done } = await reader.read();
      if (done) break;
      text += value;
    }
  })()
    .catch(() => {})
    .finally(() => {
      ended = true;
    });
  const poll = async (isSo: () => boolean) => {
    for (let tries = 0; !isSo(); tries++) {
      if (tries > 6000) throw new Error(`It did not come: ${text}`);
      await wait(5);
    }
    return performance.now();
  };
  await poll(() => text.includes('connected'));
  return {
    until: (part: string) => poll(() => text.includes(part)),
    untilEnd: () => poll(() => ended),
    async close() {
      gone.abort();
      await reading;
    },
  };
}

it('shows a sample that one of them took on a board of the other', async () => {
  const [first, second] = [nodes[0]!, nodes[1]!];
  const stream = await board(second);
  const delays: number[] = [];
  for (let index = 0; index < 5; index++) {
    const sent = width(127, 600 - index);
    const begun = performance.now();
    await accepted(first, sent);
    delays.push((await stream.until(sent.id)) - begun);
    const stored = await send(second, 'GET /api/samples/{id}', { params: { id: sent.id } });
    expect(stored.status).toBe(200);
  }
  await stream.close();
  console.log(
    `from one node to a board of the other: ${delays.map((delay) => delay.toFixed(0)).join(', ')} ms`,
  );
});

it('raises one alarm for one signal, whichever node hears what first', async () => {
  const before = 300;
  const bodies = Array.from({ length: 40 }, (_, index) => width(127.6, before - index));
  // Each to both nodes at once, in parallel with the others.
  const answers = await Promise.all(
    bodies.flatMap((body, index) => {
      const [one, other] = index % 2 === 0 ? nodes : [...nodes].reverse();
      return [accepted(one!, body), accepted(other!, body)];
    }),
  );
  const alarms = new Set(answers.map(({ alarmId }) => alarmId));
  expect(alarms.size).toBe(1);
  for (let index = 0; index < answers.length; index += 2) {
    expect(answers[index + 1]).toEqual(answers[index]);
  }
  const store = await openPostgresStore({ address: database, plant: 1 });
  expect(await store.alarms({ limit: 9 })).toHaveLength(1);
  expect(await store.sampleCount()).toBe(45);
  const signals = (await store.signals('C5-R1', 'Q10', wide)).filter(
    ({ withdrawnAt }) => withdrawnAt === null,
  );
  // Every mean is beyond the limit, and each says so once.
  const beyond = signals.filter(({ rule }) => rule === 'one-beyond-three-sigma');
  expect(new Set(beyond.map(({ sampleId }) => sampleId))).toEqual(new Set(bodies.map(({ id }) => id)));
  expect(beyond).toHaveLength(40);
  const named = signals.map(({ sampleId, rule, chart, side }) => [sampleId, rule, chart, side].join(' '));
  expect(new Set(named).size).toBe(named.length);
  // Late samples among them included, a run is counted from nine on.
  expect(signals.filter(({ rule }) => rule === 'run-on-one-side')).toHaveLength(32);
  await store.close();
});

it('tells boards to fetch anew when the connection between the nodes was lost', async () => {
  const stream = await board(nodes[1]!);
  const admin = new pg.Client(await adminAddress());
  await admin.connect();
  const name = new URL(database).pathname.slice(1);
  await admin.query(
    `select pg_terminate_backend(pid) from pg_stat_activity where datname = $1 and query ilike 'listen%'`,
    [name],
  );
  await admin.query(
    `select pg_terminate_backend(pid) from pg_stat_activity where datname = $1 and application_name = 'runtrue'`,
    [name],
  );
  await admin.end();
  await stream.untilEnd();
  const again = await board(nodes[1]!);
  const sent = width(127, 10);
  for (;;) {
    const response = await send(nodes[0]!, 'POST /api/samples', { body: sent });
    if (response.status === 200) break;
    expect(response.status).toBe(503);
    await wait(50);
  }
  await again.until(sent.id);
  await again.close();
});
