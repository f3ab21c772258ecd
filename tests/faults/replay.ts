/**
 * Holds what a database says after faults against what was acknowledged, and against a replay: the same writes in
 * the order of arrival on a fresh plant that nothing happened to.
 */
import { isDeepStrictEqual } from 'node:util';
import { createMonitoring, type Monitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import type { SampleAnswer } from '../../api/schemas.ts';
import type { SignalRow, Store } from '../../api/store/store.ts';
import type { Client } from './client.ts';
import { by, engineerAndQuality, fillPlant, models, recipientId, streamOf } from './plant.ts';
import type { Act, Writer } from './writers.ts';

const ever = { from: 0, to: Number.MAX_SAFE_INTEGER };
/** More are not told. */
const MOST_PROBLEMS = 20;

export interface Compared {
  readonly samples: number;
  readonly signals: number;
  readonly alarms: number;
  readonly problems: readonly string[];
}

/** `lines` in the order in which fillPlant wrote them. */
export async function compare(
  store: Store,
  fresh: Store,
  writers: readonly Writer[],
  lines: readonly string[],
  begin: number,
): Promise<Compared> {
  const problems: string[] = [];
  const expectSame = (what: string, found: unknown, wanted: unknown): void => {
    if (isDeepStrictEqual(found, wanted) || problems.length >= MOST_PROBLEMS) return;
    problems.push(`${what}: ${firstDifference(found, wanted)}`);
  };
  await fillPlant(fresh, lines, begin);
  const clock = { time: begin, now: () => clock.time };
  const monitoring = createMonitoring({ store: fresh, clock, feed: createChangeFeed() });

  const acknowledged = new Set(
    writers.flatMap(({ acts }) => acts.flatMap((act) => (act.kind === 'sample' ? [act.sent.id] : []))),
  );
  // The rows themselves: the store tells the highest number, and the row that is lost may be another.
  const stored = await store.sql.one<{ count: number }>('select count(*) as count from samples');
  expectSame('number of samples', stored!.count, acknowledged.size);

  const messages = await store.sql.all<{ id: string }>(
    'select id from deliveries where recipient_id = ? order by id',
    recipientId,
  );
  const tried = writers.flatMap(({ acts }) =>
    acts.flatMap((act) => (act.kind === 'message' ? [act.answer.id] : [])),
  );
  expectSame(
    'messages',
    messages.map(({ id }) => id),
    tried.sort(),
  );

  const count = (await store.sampleCount()) + 1;
  let signals = 0;
  let alarms = 0;
  for (const lineId of lines) {
    const acts = await inOrder(store, writers, lineId, count, expectSame);
    await replay(monitoring, store, fresh, clock, acts, lineId, expectSame);
    for (const modelId of models) {
      const where = `${streamOf(lineId)} ${modelId}`;
      const kept = await recordOf(store, lineId, modelId, count);
      const replayed = await recordOf(fresh, lineId, modelId, count);
      for (const part of Object.keys(kept) as (keyof typeof kept)[])
        expectSame(`${part} of ${where}`, kept[part], replayed[part]);
      signals += kept.signals.length;
      alarms += kept.alarms.length;
    }
  }
  return { samples: stored!.count, signals, alarms, problems };
}

/** Newest keyed writes of each writer that are sent once more. */
const ASKED_AGAIN = 20;

/** Sends writes again under their keys to a server that may be another one: each must get the answer it got. */
export async function askAgain(
  client: Pick<Client, 'send'>,
  writers: readonly Writer[],
): Promise<readonly string[]> {
  const problems: string[] = [];
  for (const { keyed } of writers) {
    for (const { path, personId, sent, key, answer } of keyed.slice(-ASKED_AGAIN)) {
      const { body } = await client.send('POST', path, personId, sent, key);
      if (isDeepStrictEqual(body, answer)) continue;
      problems.push(`answer to ${path} under the key ${key}: ${firstDifference(body, answer)}`);
    }
  }
  return problems;
}

/** What was acknowledged on a line, in the order of arrival; each answer must be the one that is stored. */
async function inOrder(
  store: Store,
  writers: readonly Writer[],
  lineId: string,
  count: number,
  expectSame: (what: string, found: unknown, wanted: unknown) => void,
): Promise<readonly Act[]> {
  const own = writers.filter((writer) => writer.lineId === lineId);
  const acts = own.flatMap((writer) => writer.acts);
  for (const act of acts) {
    if (act.kind === 'sample')
      expectSame(`answer to ${act.sent.id}`, await store.acceptedAnswer(act.sent.id), act.answer);
    if (act.kind === 'correction')
      expectSame(`answer to ${act.sent.id}`, (await store.correction(act.sent.id))?.answer, act.answer);
  }
  if (own.length === 1) return acts;
  const lists = await Promise.all(
    models.map((modelId) => store.samples(streamOf(lineId), modelId, ever, count)),
  );
  const place = new Map(lists.flat().map(({ id, no }) => [id, no]));
  const placeOf = ({ sent }: Act): number => place.get((sent as { id: string }).id) ?? 0;
  return acts.sort((a, b) => placeOf(a) - placeOf(b));
}

/** What was judged, without the numbers that a database gives. */
const judged = ({ signals, alarmId, ...answer }: SampleAnswer) => ({
  ...answer,
  alarm: alarmId !== null,
  signals: signals.map(({ id: _, ...signal }) => signal),
});

async function replay(
  monitoring: Monitoring,
  store: Store,
  fresh: Store,
  clock: { time: number },
  acts: readonly Act[],
  lineId: string,
  expectSame: (what: string, found: unknown, wanted: unknown) => void,
): Promise<void> {
  /** The alarms of the line in the order of their raising; a database numbers them all in one row. */
  const alarmsOf = async (from: Store): Promise<number[]> =>
    (await from.alarms({ streamId: streamOf(lineId), limit: 1_000_000 })).map(({ id }) => id).reverse();
  const kept = await alarmsOf(store);
  for (const act of acts) {
    switch (act.kind) {
      case 'sample': {
        clock.time = Date.parse(act.answer.storedAt);
        const { answer } = await monitoring.accept(act.sent, by('tech'));
        expectSame(`verdict on ${act.sent.id}`, judged(answer), judged(act.answer));
        break;
      }
      case 'correction': {
        clock.time = Date.parse(act.answer.storedAt);
        const answer = await monitoring.correct(act.sampleId, act.sent, by('tech'));
        expectSame(`verdict on correction ${act.sent.id}`, judged(answer), judged(act.answer));
        break;
      }
      case 'event':
        if (act.sent.until === null) clock.time = Date.parse(act.answer.recordedAt);
        await monitoring.recordEvent(act.sent, by('tech'));
        break;
      case 'alarm entry': {
        const entry = await store.alarmEntry(act.sent.id);
        const replayed = (await alarmsOf(fresh))[kept.indexOf(act.alarmId)];
        if (entry === null || replayed === undefined) {
          expectSame(`entry ${act.sent.id} of alarm ${act.alarmId}`, entry, replayed);
          break;
        }
        clock.time = entry.at;
        const who = act.sent.kind === 'closed' ? engineerAndQuality : by('supervisor');
        await monitoring.addAlarmEntry(replayed, act.sent, who);
        break;
      }
      case 'limits': {
        clock.time = Date.parse(act.answer.at);
        const limits = await monitoring.freezeLimits(act.sent, engineerAndQuality);
        expectSame(`limits version ${act.answer.version}`, limits, act.answer);
        break;
      }
      case 'message':
        // Messages are held against what was acknowledged, all together.
        break;
      case 'missed':
        clock.time = Date.parse(act.answer.at);
        await monitoring.declareMissed(act.sent, by('tech'));
        break;
    }
  }
}

/** The record of one stream and model, without the numbers that a database gives. */
async function recordOf(store: Store, lineId: string, modelId: string, count: number) {
  const streamId = streamOf(lineId);
  const rows = await store.samples(streamId, modelId, ever, count);
  const samples = rows.map(({ no: _, ...row }) => row);
  const revisions = [];
  for (const { id, revision } of rows) if (revision > 1) revisions.push(await store.revisions(id));
  const alarms = (await store.alarms({ streamId, modelId, limit: 1_000_000 })).toReversed();
  const ordinal = new Map(alarms.map(({ id }, index) => [id, index]));
  const entries = [];
  for (const { id } of alarms) entries.push(await store.alarmEntries(id));
  return {
    samples,
    revisions,
    signals: (await store.signals(streamId, modelId, ever)).map(
      ({ id, sampleNo, alarmId, ...signal }: SignalRow) => ({
        ...signal,
        alarm: alarmId === null ? null : ordinal.get(alarmId),
      }),
    ),
    alarms: alarms.map(({ id: _, ...alarm }) => alarm),
    entries: entries.map((list) => list.map(({ alarmId: _, ...entry }) => entry)),
    limits: await store.limitsVersions(streamId, modelId),
    missed: await store.missedSamples(streamId, ever),
    events: await store.events(lineId, ever),
  };
}

/** Where two values part, in words short enough for a terminal. */
function firstDifference(found: unknown, wanted: unknown, path = ''): string {
  const short = (value: unknown): string => (JSON.stringify(value) ?? 'nothing').slice(0, 300);
  const isTree = (value: unknown): value is Record<string, unknown> =>
    typeof value === 'object' && value !== null;
  if (isTree(found) && isTree(wanted)) {
    for (const key of new Set([...Object.keys(found), ...Object.keys(wanted)])) {
      if (!isDeepStrictEqual(found[key], wanted[key]))
        return firstDifference(found[key], wanted[key], `${path}.${key}`);
    }
  }
  return `${path} is ${short(found)}, should be ${short(wanted)}`;
}
