/**
 * Many plant-days in a short time: the demo plant's work over HTTP, boards that look, people who handle alarms.
 * Prints memory and times of each plant-day, and says whether they stay flat.
 */
import { once } from 'node:events';
import { statSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import type { Alarm, SampleAnswer } from '../../api/schemas.ts';
import { DEMO_NOW } from '../../demo-data/load.ts';
import { people } from '../../demo-data/plant.ts';
import { linearRegression } from '../../src/comparison/linear-regression.ts';
import { type Board, openBoard } from './board.ts';
import { type Client, retryingClient } from './client.ts';
import { sqliteEngine } from './engine.ts';
import { type ServerProcess, startProcess } from './server-process.ts';
import { SOAK_BEGIN, soakWork } from './soak-work.ts';

const MINUTE = 60_000;
const DAY = 24 * 60 * MINUTE;
/** The first days fill caches and let the compiler finish. */
const WARM_UP_DAYS = 3;
/** Growth over the whole run that is called flat, as a share of the mean. */
const FLAT = 0.05;

export interface SoakOptions {
  readonly days: number;
  readonly speed: number;
  readonly boards: number;
}

interface Memory {
  readonly rss: number;
  readonly heapUsed: number;
  readonly external: number;
}

export interface DayRow {
  readonly day: number;
  readonly samples: number;
  readonly p50: number;
  readonly p99: number;
  readonly rss: number;
  readonly heap: number;
  readonly external: number;
  readonly database: number;
}

const quantile = (sorted: readonly number[], share: number): number =>
  sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN;
const megabytes = (bytes: number): number => Math.round(bytes / 1e4) / 100;
const milliseconds = (value: number): number => Math.round(value * 100) / 100;

async function memoryOf({ child }: ServerProcess): Promise<Memory> {
  const answered = once(child, 'message');
  child.send('memory');
  return (await answered)[0] as Memory;
}

/** A board looks at the floor anew when something changed, at most once a second, as the page does. */
async function watch(board: Board, client: Client, over: () => boolean): Promise<void> {
  let seen = 0;
  while (!over()) {
    if (board.changes() > seen) {
      seen = board.changes();
      await client.send('GET', '/api/floor', people.engineer.id);
    }
    await wait(1000);
  }
}

/** What a supervisor does about an alarm, each step some plant-minutes after the one before. */
async function handleAlarm(
  client: Client,
  alarmId: number,
  later: (minutes: number) => Promise<void>,
): Promise<void> {
  const write = async (
    entry: Record<string, unknown>,
    personId: string = people.supervisor1.id,
  ): Promise<number> => {
    const body = { id: crypto.randomUUID(), ...entry };
    const path = `/api/alarms/${alarmId}/entries`;
    return (await client.send('POST', path, personId, body)).status;
  };
  await later(10);
  await write({ kind: 'acknowledged' });
  await later(15);
  await write({ kind: 'decision', decision: 'adjust', text: 'The setter looks at it.' });
  await later(30);
  await write({ kind: 'cause', text: 'Found and put right.' });
  await write({ kind: 'action', text: 'Checked by measuring five parts.' });
  await later(90);
  // Raised again meanwhile: acknowledged anew, then closed.
  const secondSignature = { personId: people.qualityManager.id };
  const close = () => write({ kind: 'closed', text: 'Back to normal.', secondSignature }, people.engineer.id);
  if ((await close()) === 200) return;
  await write({ kind: 'acknowledged' });
  await close();
}

export async function runSoak(
  { days, speed, boards }: SoakOptions,
  say: (line: string) => void,
): Promise<boolean> {
  const { folder, end } = sqliteEngine();
  const server = startProcess({
    program: 'soak-server.js',
    nodeArguments: ['--expose-gc'],
    environment: { DATA_DIR: folder, RUNTRUE_SPEED: String(speed) },
    ipc: true,
  });
  const [{ begin }] = (await once(server.child, 'message')) as [{ begin: number }];
  await server.ready;
  const client = retryingClient(() => server.address);
  const plantNow = (): number => DEMO_NOW + (Date.now() - begin) * speed;
  const until = async (at: number): Promise<void> => {
    const left = (at - plantNow()) / speed;
    if (left > 0) await wait(left);
  };
  let over = false;
  const opened = await Promise.all(Array.from({ length: boards }, () => openBoard(server.address!)));
  const watching = opened.map((board) => watch(board, client, () => over));

  const handled = new Set<number>();
  const handling = new Set<Promise<void>>();
  const problems: string[] = [];
  let latencies: number[] = [];
  async function enter(sample: NonNullable<ReturnType<typeof soakWork>[number]['sample']>): Promise<void> {
    const sent = performance.now();
    const { status, body } = await client.send('POST', '/api/samples', people.tech1.id, sample);
    latencies.push(performance.now() - sent);
    if (status !== 200) {
      problems.push(`a sample was refused with ${status}: ${JSON.stringify(body)}`);
      return;
    }
    const { alarmId, questions, sampleId, revision } = body as SampleAnswer;
    if (questions.length > 0) {
      const correction = {
        id: crypto.randomUUID(),
        revision,
        reason: 'The same piece measured again.',
        ...(sample.readings === undefined
          ? { count: sample.count }
          : {
              readings: sample.readings.map((reading, position) => {
                const asked = questions.find((question) => question.position === position);
                return asked === undefined
                  ? reading
                  : { ...reading, asked: { kind: asked.kind, decision: 'kept' } };
              }),
            }),
      };
      await client.send('POST', `/api/samples/${sampleId}/corrections`, people.tech1.id, correction);
    }
    if (alarmId !== null && !handled.has(alarmId)) {
      handled.add(alarmId);
      const work = handleAlarm(client, alarmId, (minutes) => wait((minutes * MINUTE) / speed))
        .catch((error: Error) => void problems.push(error.message))
        .finally(() => handling.delete(work));
      handling.add(work);
    }
  }

  const rows: DayRow[] = [];
  async function closeDay(day: number): Promise<void> {
    const memory = await memoryOf(server);
    const sorted = latencies.sort((a, b) => a - b);
    latencies = [];
    const row: DayRow = {
      day,
      samples: sorted.length,
      p50: milliseconds(quantile(sorted, 0.5)),
      p99: milliseconds(quantile(sorted, 0.99)),
      rss: megabytes(memory.rss),
      heap: megabytes(memory.heapUsed),
      external: megabytes(memory.external),
      database: megabytes(statSync(join(folder, 'soak.sqlite')).size),
    };
    rows.push(row);
    say(
      `day ${String(day).padStart(3)}: ${String(row.samples).padStart(4)} samples, ${row.samples === 0 ? 'the plant is idle' : `p50 ${row.p50} ms, p99 ${row.p99} ms`}, memory ${row.rss} MB (heap ${row.heap} MB, external ${row.external} MB), database ${row.database} MB`,
    );
  }

  let day = 1;
  const entering = new Set<Promise<void>>();
  for (const { at, sample, event } of soakWork(days)) {
    while (at >= SOAK_BEGIN + day * DAY) {
      await until(SOAK_BEGIN + day * DAY);
      await closeDay(day++);
    }
    await until(at);
    if (event !== undefined) await client.send('POST', '/api/events', people.tech1.id, event);
    if (sample === undefined) continue;
    const work = enter(sample).finally(() => entering.delete(work));
    entering.add(work);
  }
  while (day <= days) {
    await until(SOAK_BEGIN + day * DAY);
    await closeDay(day++);
  }
  await Promise.all([...entering, ...handling]);
  over = true;
  await Promise.all(watching);

  const open = (await client.send('GET', '/api/alarms?open=true&limit=1000', people.engineer.id))
    .body as Alarm[];
  say(`${handled.size} alarms handled, ${open.length} open at the end.`);
  const cut = opened.filter((board) => board.isCut()).length;
  if (cut > 0) problems.push(`${cut} of ${boards} boards were cut off`);
  if (client.unanswered() > 0) problems.push(`${client.unanswered()} requests were not answered`);
  for (const board of opened) board.close();
  server.kill('SIGTERM');
  const { code } = await server.ended;
  if (code !== 0) problems.push(`the server ended with ${code}`);
  await end();

  for (const problem of problems.slice(0, 20)) say(`Problem: ${problem}`);
  return judgeFlatness(rows, say) && problems.length === 0;
}

/** The most that SQLite's page cache can hold: each of two connections the whole database, up to 64 MB (sqlite.ts). */
const pageCache = ({ database }: DayRow): number => 2 * Math.min(database, 64);

/** `judged`: false where a figure grows by itself up to a bound, and is only shown. */
const figures: readonly {
  readonly name: string;
  readonly unit: 'MB' | 'ms';
  readonly of: (row: DayRow) => number;
  readonly judged: boolean;
}[] = [
  { name: 'memory', unit: 'MB', of: ({ rss }) => rss, judged: false },
  { name: 'memory less the page cache', unit: 'MB', of: (row) => row.rss - pageCache(row), judged: true },
  { name: 'heap', unit: 'MB', of: ({ heap }) => heap, judged: true },
  { name: 'external', unit: 'MB', of: ({ external }) => external, judged: true },
  { name: 'p50', unit: 'ms', of: ({ p50 }) => p50, judged: true },
  { name: 'p99', unit: 'ms', of: ({ p99 }) => p99, judged: true },
];

/** Says of each figure how it changes a day, with a 95 % interval, and whether that is flat. */
export function judgeFlatness(rows: readonly DayRow[], say: (line: string) => void): boolean {
  let flat = true;
  for (const { name, unit, of, judged } of figures) {
    // A Sunday without samples has no times.
    const used = rows.filter((row) => row.day > WARM_UP_DAYS && Number.isFinite(of(row)));
    if (used.length < 3) {
      say(`${name}: too few days to say whether it is flat.`);
      continue;
    }
    const values = used.map(of);
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    const outcome = linearRegression(
      used.map((row) => row.day),
      values,
    );
    if (!outcome.available) {
      say(`${name}: all days equal, ${mean}.`);
      continue;
    }
    const { estimate, lower, upper } = outcome.coefficients[1]!;
    const span = used.at(-1)!.day - used[0]!.day;
    const grows = lower * span > FLAT * mean;
    if (judged && grows) flat = false;
    const verdict = judged ? (grows ? 'NOT flat' : 'flat') : 'page cache included';
    say(
      `${name}: mean ${mean.toFixed(2)} ${unit}, ${estimate.toFixed(3)} ${unit} a day (95 % interval ${lower.toFixed(3)} to ${upper.toFixed(3)}), ${((100 * estimate * span) / mean).toFixed(1)} % over ${span} days: ${verdict}.`,
    );
  }
  return flat;
}
