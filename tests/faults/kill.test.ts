/**
 * The built server is killed (SIGKILL) at random moments while clients write with retries. The number of kills is
 * RUNTRUE_KILLS, 5 without it.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { afterAll, expect, it } from 'vitest';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import type { SampleAnswer, SampleSubmission } from '../../api/schemas.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { freezeGiven, openTestPlant, readingsAbout, tech } from '../api/test-plant.ts';

const KILLS = Number(process.env.RUNTRUE_KILLS ?? 5);
const CLIENTS = 4;
const program = fileURLToPath(new URL('../../dist/server/main.js', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'runtrue-kill-'));
const file = join(folder, 'plant.sqlite');
let child: ChildProcess | null = null;
afterAll(() => {
  child?.kill('SIGKILL');
  rmSync(folder, { recursive: true });
});

async function start(): Promise<string> {
  const server = spawn(process.execPath, [program], {
    env: { ...process.env, PORT: '0', DATA_DIR: folder },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  child = server;
  let printed = '';
  return new Promise((done, failed) => {
    server.stdout.on('data', (chunk: Buffer) => {
      printed += chunk.toString();
      const address = /http:\/\/[\d.:]+/.exec(printed)?.[0];
      if (address !== undefined) done(address);
    });
    server.once('exit', (code) => failed(new Error(`The server ended with ${code}: ${printed}`)));
  });
}

async function kill(): Promise<void> {
  const ended = new Promise((done) => child?.once('exit', done));
  child?.kill('SIGKILL');
  await ended;
}

/** Around the limits, so that signals and alarms are written as well. */
const sampleNumber = (number: number, begin: number): SampleSubmission => ({
  id: randomUUID(),
  streamId: 'width',
  modelId: 'Q10',
  takenAt: new Date(begin + number).toISOString(),
  unit: 'mm',
  readings: readingsAbout(127 + ((number * 7) % 13) * 0.03 - 0.06),
});

/** What the judgement was, without the numbers that the database gave. */
const judged = ({ verdict, location, spread, signals }: SampleAnswer) => ({
  verdict,
  location,
  spread,
  signals: signals.map(({ chart, rule, side, points }) => ({ chart, rule, side, points })),
});

it(`loses nothing that was acknowledged and stores nothing twice over ${KILLS} kills`, async () => {
  const begin = Date.now() - 3_600_000;
  const plant = await openTestPlant();
  plant.clock.time = Date.now();
  await freezeGiven(plant, begin - 3_600_000);
  await plant.store.transaction(async () => {
    new Database(plant.file).exec(`vacuum into '${file}'`);
  });
  await plant.close();

  const acknowledged = new Map<string, SampleAnswer>();
  const sent: SampleSubmission[] = [];
  let address = await start();
  let stop = false;
  const client = async (): Promise<void> => {
    while (!stop) {
      const submission = sampleNumber(sent.length, begin);
      sent.push(submission);
      for (;;) {
        try {
          const response = await fetch(`${address}/api/samples`, {
            method: 'POST',
            headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'tech' },
            body: JSON.stringify(submission),
          });
          const answer = await response.json();
          expect(response.status, JSON.stringify(answer)).toBe(200);
          acknowledged.set(submission.id, answer as SampleAnswer);
          break;
        } catch (error) {
          // A connection cut by the kill is not an answer: the client sends the same sample again.
          if (!(error instanceof TypeError)) throw error;
          await wait(20);
        }
      }
    }
  };
  const clients = Array.from({ length: CLIENTS }, client);
  const all = Promise.all(clients);
  for (let kills = 0; kills < KILLS; kills++) {
    const enough = acknowledged.size + 10;
    while (acknowledged.size < enough) await Promise.race([wait(5), all]);
    await wait(Math.random() * 50);
    await kill();
    address = await start();
  }
  const last = acknowledged.size + 10;
  while (acknowledged.size < last) await Promise.race([wait(5), all]);
  stop = true;
  await all;
  await kill();

  const raw = new Database(file);
  expect(raw.pragma('integrity_check', { simple: true })).toBe('ok');
  raw.close();
  const store = openSqliteStore(file);
  const rows = await store.samples('width', 'Q10', { from: 0, to: Number.MAX_SAFE_INTEGER }, sent.length + 1);
  expect(new Set(rows.map(({ id }) => id))).toEqual(new Set(acknowledged.keys()));
  expect(rows).toHaveLength(sent.length);
  for (const [id, answer] of acknowledged) expect(await store.acceptedAnswer(id)).toEqual(answer);

  // The same samples, in the order in which they arrived, on a plant that was never killed.
  const replay = await openTestPlant();
  replay.clock.time = Date.now();
  await freezeGiven(replay, begin - 3_600_000);
  const clock = { now: () => Date.now() };
  const monitoring = createMonitoring({ store: replay.store, clock, feed: createChangeFeed() });
  const byId = new Map(sent.map((submission) => [submission.id, submission]));
  for (const { id } of [...rows].sort((a, b) => a.no - b.no)) {
    const { answer } = await monitoring.accept(byId.get(id)!, tech);
    expect(judged(answer)).toEqual(judged(acknowledged.get(id)!));
  }
  const signals = await store.signals('width', 'Q10', { from: 0, to: Number.MAX_SAFE_INTEGER });
  expect(signals.length).toBeGreaterThan(0);
  await replay.close();
  await store.close();
}, 300_000);
