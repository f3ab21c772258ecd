import { setImmediate } from 'node:timers/promises';
import type { Clock } from '../clock.ts';
import { once, resultOf, type WriteKey } from '../idempotency/idempotency.ts';
import type { ChangeFeed } from '../notify/change-feed.ts';
import { ProblemError } from '../problem.ts';
import { beginRestart } from '../restarts/begin-restart.ts';
import { decideRestart, type Stated, stateFirstPiece, streamsOf } from '../restarts/decide-restart.ts';
import { restartDetail } from '../restarts/restart-payload.ts';
import { restartOf } from '../restarts/restart-records.ts';
import { createRouter, type Router } from '../routing/route-alarms.ts';
import { shelve, unshelve } from '../routing/shelf.ts';
import type {
  Alarm,
  AlarmDetail,
  AlarmEntrySubmission,
  Change,
  EventSubmission,
  FirstPieceSubmission,
  LimitsRequest,
  LimitsVersion,
  MissedSample,
  MissedSampleSubmission,
  PlantEvent,
  RestartDecision,
  RestartDetail,
  SampleAnswer,
  SampleCorrection,
  SampleSubmission,
  ShelvingSubmission,
  UnshelvingSubmission,
} from '../schemas.ts';
import {
  type AlarmQuery,
  type AlarmRow,
  NO_STREAM,
  type Store,
  type StoreTransaction,
} from '../store/store.ts';
import { inSpan } from '../tracing/span.ts';
import { acceptSample } from './accept-sample.ts';
import { addAlarmEntry } from './add-alarm-entry.ts';
import { alarmDetail, alarmPayload } from './alarm-payload.ts';
import type { By } from './by.ts';
import { correctSample } from './correct-sample.ts';
import { declareMissed } from './declare-missed.ts';
import { freezeLimits } from './freeze-limits.ts';
import { eventPayload, limitsPayload, missedPayload } from './payloads.ts';
import { recordEvent } from './record-event.ts';
import { type PlantRecord, savePlantRecord } from './save-plant-record.ts';
import { alarmChange } from './settle-alarm.ts';
import { requirePerson } from './stream-context.ts';

interface AllAccepted {
  readonly stored: number;
  readonly repeated: number;
}

/** The one path of everything that is recorded: validate, store, evaluate, signal, alarm, notify. */
export interface Monitoring {
  /** Resolves when the sample is durable. The same sample again stores nothing and gives the same answer. */
  accept(
    submission: SampleSubmission,
    by: By,
  ): Promise<{ readonly answer: SampleAnswer; readonly repeated: boolean }>;
  /**
   * All or nothing. Lets other work run in between, and reports how many are done. `alsoStored` writes what has to be
   * durable with them, and may still refuse all of it.
   */
  acceptAll(
    submissions: readonly SampleSubmission[],
    by: By,
    onProgress?: (done: number, total: number) => void,
    alsoStored?: (transaction: StoreTransaction) => Promise<void>,
  ): Promise<AllAccepted>;
  /** What acceptAll gave before under a key. */
  acceptedAll(key: WriteKey): Promise<AllAccepted | null>;
  correct(sampleId: string, correction: SampleCorrection, by: By): Promise<SampleAnswer>;
  freezeLimits(request: LimitsRequest, by: By): Promise<LimitsVersion>;
  declareMissed(missed: MissedSampleSubmission, by: By): Promise<MissedSample>;
  /** A change of the set-up leaves the restart unapproved until its first piece is. */
  recordEvent(event: EventSubmission, by: By): Promise<PlantEvent>;
  stateFirstPiece(restartId: string, submission: FirstPieceSubmission, by: By): Promise<RestartDetail>;
  decideRestart(restartId: string, decision: RestartDecision, by: By): Promise<RestartDetail>;
  /** `allowed` sees the revision of the plant that is changed, and may refuse. */
  savePlantRecord(
    plantRecord: PlantRecord,
    reason: string,
    by: By,
    allowed?: (plantRevision: number) => void,
  ): Promise<void>;
  addAlarmEntry(alarmId: number, entry: AlarmEntrySubmission, by: By): Promise<AlarmDetail>;
  shelve(alarmId: number, submission: ShelvingSubmission, by: By): Promise<AlarmDetail>;
  unshelve(alarmId: number, submission: UnshelvingSubmission, by: By): Promise<AlarmDetail>;
  /** Escalates what nobody has acknowledged in time, and brings back what was shelved long enough. */
  catchUp(): Promise<void>;
  /** Alarms with their containment as of now, newest first. */
  alarms(query: AlarmQuery): Promise<Alarm[]>;
  alarm(id: number): Promise<AlarmDetail>;
}

/** Longest stretch of an import that other work waits for. */
const BUSY_MILLISECONDS = 20;

export function createMonitoring({
  store,
  clock,
  feed,
  router = createRouter({ pageAddress: '', topicPrefix: null }),
}: {
  readonly store: Store;
  readonly clock: Clock;
  readonly feed: ChangeFeed;
  readonly router?: Router;
}): Monitoring {
  /**
   * What leaves is written with what it tells of; who watches here hears of it once it is durable. An answer that
   * shows what the routing of alarms did is a function, asked after that.
   */
  async function recorded<T>(
    { key }: By,
    work: (
      transaction: StoreTransaction,
    ) => Promise<readonly [answer: T | (() => Promise<T>), changes: readonly Change[]]>,
    streams?: readonly string[],
    sampleId?: string,
  ): Promise<T> {
    const [result, changes] = await inSpan('transaction', {}, () =>
      store.transaction(
        (transaction) =>
          once(transaction.sql, key, async () => {
            const [answer, changes] = await inSpan('record', {}, () => work(transaction));
            await router.alarmsChanged(transaction, changes, clock.now());
            const result = answer instanceof Function ? await answer() : answer;
            return [result, changes] as const;
          }),
        streams,
        sampleId,
      ),
    );
    // Also where it was done before: the node that did it may have died before it could tell the others.
    for (const change of changes) feed.publish(change);
    await feed.sent();
    return result;
  }

  /** The same for what was stored before under an id of its own. */
  const told = (isNew: boolean, ...changes: Change[]): readonly Change[] =>
    isNew || feed.hasOthers ? changes : [];

  /** Something that people do about one alarm; the answer is the alarm as it then is. */
  const ofAlarm = async (
    alarmId: number,
    by: By,
    work: (transaction: StoreTransaction, now: number) => Promise<AlarmRow | null>,
  ): Promise<AlarmDetail> =>
    recorded(
      by,
      async (transaction) => {
        const now = clock.now();
        const changed = await work(transaction, now);
        const alarm = changed ?? (await transaction.alarm(alarmId));
        const changes = alarm === null ? [] : told(changed !== null, alarmChange(alarm));
        return [() => alarmDetail(transaction, alarmId, now), changes];
      },
      streamOf(await store.alarm(alarmId)),
    );

  /** What people state about one restart; no sample that it stands on changes meanwhile. */
  const ofRestart = async (
    restartId: string,
    by: By,
    work: (transaction: StoreTransaction, id: string, now: number) => Promise<Stated>,
  ): Promise<RestartDetail> => {
    const id = restartId.toLowerCase();
    const streams = streamsOf(await restartOf(store.sql, id));
    return recorded(
      by,
      async (transaction) => {
        const now = clock.now();
        const { restart, isNew } = await work(transaction, id, now);
        const change: Change = { kind: 'restart', lineId: restart.lineId, restartId: id };
        return [() => restartDetail(transaction, id, now), told(isNew, change)];
      },
      [NO_STREAM, ...streams],
    );
  };

  return {
    accept: (submission, by) =>
      recorded(
        by,
        async (transaction) => {
          const { answer, repeated, changes } = await acceptSample(transaction, submission, by, clock.now());
          const { streamId } = submission;
          const again = told(!repeated, { kind: 'sample', streamId, sampleId: answer.sampleId });
          return [{ answer, repeated }, repeated ? again : changes];
        },
        [submission.streamId],
        submission.id.toLowerCase(),
      ),

    acceptAll: (submissions, by, onProgress, alsoStored) =>
      recorded(
        by,
        async (transaction) => {
          // Oldest first, so that no sample makes others be judged twice.
          const inOrder = submissions
            .map((submission, index) => ({ submission, index, takenAt: Date.parse(submission.takenAt) }))
            .sort((a, b) => a.takenAt - b.takenAt || a.index - b.index);
          const changes = new Map<string, Change>();
          let repeated = 0;
          let since = performance.now();
          for (const [done, { submission, index }] of inOrder.entries()) {
            const accepted = await named(`samples.${index}`, () =>
              acceptSample(transaction, submission, by, clock.now()),
            );
            if (accepted.repeated) repeated += 1;
            for (const change of accepted.changes) changes.set(subjectOf(change), change);
            if (performance.now() - since < BUSY_MILLISECONDS) continue;
            onProgress?.(done + 1, submissions.length);
            await setImmediate();
            since = performance.now();
          }
          onProgress?.(submissions.length, submissions.length);
          await alsoStored?.(transaction);
          return [{ stored: submissions.length - repeated, repeated }, [...changes.values()]];
        },
        submissions.map(({ streamId }) => streamId),
      ),

    async acceptedAll(key) {
      const before = await resultOf<readonly [AllAccepted, readonly Change[]]>(store.sql, key);
      return before?.result[0] ?? null;
    },

    correct: async (sampleId, correction, by) =>
      recorded(
        by,
        async (transaction) => {
          const plant = await transaction.plantModel();
          const now = clock.now();
          const { answer, changes } = await correctSample(
            transaction,
            plant,
            sampleId,
            correction,
            by.personId,
            now,
          );
          if (changes.length > 0) return [answer, changes];
          const { streamId } = (await transaction.sample(sampleId))!;
          return [answer, told(false, { kind: 'sample', streamId, sampleId })];
        },
        streamOf(await store.sample(sampleId)),
      ),

    freezeLimits: (request, by) =>
      recorded(
        by,
        async (transaction) => {
          const plant = await transaction.plantModel();
          const { limits, changes } = await freezeLimits(transaction, plant, request, by, clock.now());
          return [limitsPayload(limits), changes];
        },
        [request.streamId],
      ),

    declareMissed: (submission, by) =>
      recorded(
        by,
        async (transaction) => {
          const plant = await transaction.plantModel();
          const { missed, isNew } = await declareMissed(
            transaction,
            plant,
            submission,
            by.personId,
            clock.now(),
          );
          return [missedPayload(missed), told(isNew, { kind: 'missed', streamId: missed.streamId })];
        },
        [submission.streamId],
      ),

    recordEvent: (submission, by) =>
      recorded(
        by,
        async (transaction) => {
          const plant = await transaction.plantModel();
          const { event, isNew } = await recordEvent(
            transaction,
            plant,
            submission,
            by.personId,
            clock.now(),
          );
          const restarts = isNew ? await beginRestart(transaction, plant, event) : [];
          return [eventPayload(event), told(isNew, { kind: 'event', lineId: event.lineId }, ...restarts)];
        },
        [NO_STREAM],
      ),

    stateFirstPiece: (restartId, submission, by) =>
      ofRestart(restartId, by, (transaction, id, now) =>
        stateFirstPiece(transaction, id, submission, by, now),
      ),

    decideRestart: (restartId, decision, by) =>
      ofRestart(restartId, by, (transaction, id, now) => decideRestart(transaction, id, decision, by, now)),

    savePlantRecord: (plantRecord, reason, by, allowed) =>
      recorded(by, async (transaction) => {
        allowed?.(await transaction.plantRevision());
        const plant = await transaction.plantModel();
        const now = clock.now();
        const changed = await savePlantRecord(transaction, plant, plantRecord, reason, by, now);
        return [undefined, told(changed, { kind: 'plant' })];
      }),

    addAlarmEntry: (alarmId, entry, by) =>
      ofAlarm(alarmId, by, (transaction, now) => addAlarmEntry(transaction, alarmId, entry, by, now)),

    shelve: (alarmId, submission, by) =>
      ofAlarm(alarmId, by, async (transaction, now) => {
        requirePerson(await transaction.plantModel(), by.personId);
        return shelve(transaction, alarmId, submission, by.personId, now);
      }),

    unshelve: (alarmId, submission, by) =>
      ofAlarm(alarmId, by, async (transaction, now) => {
        requirePerson(await transaction.plantModel(), by.personId);
        return unshelve(transaction, alarmId, submission, by.personId, now);
      }),

    async catchUp() {
      const streams = await router.behind(store, clock.now());
      if (streams === null) return;
      const changes = await store.transaction(
        (transaction) => router.catchUp(transaction, streams, clock.now()),
        streams,
      );
      for (const change of changes) feed.publish(change);
    },

    async alarms(query) {
      const now = clock.now();
      const rows = await store.alarms(query);
      return Promise.all(rows.map((row) => alarmPayload(store, row, now)));
    },

    alarm: (id) => alarmDetail(store, id, clock.now()),
  };
}

/** The stream that a record belongs to, and always will; what is not there is refused without it. */
const streamOf = (record: { readonly streamId: string } | null): readonly string[] =>
  record === null ? [] : [record.streamId];

/** A board that hears of ten thousand samples at once needs the last one of each stream. */
function subjectOf(change: Change): string {
  if (change.kind === 'sample') return `sample ${change.streamId}`;
  return change.kind === 'alarm' ? `alarm ${change.alarmId}` : JSON.stringify(change);
}

/** Says which of many was refused. */
async function named<T>(path: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    const { status, title, detail, errors } = error.problem;
    throw new ProblemError(
      status,
      title,
      detail,
      errors.map(({ field, message }) => ({ field: `${path}.${field}`, message })),
    );
  }
}
