import { setImmediate } from 'node:timers/promises';
import type { Clock } from '../clock.ts';
import { keepAnswer } from '../idempotency/idempotency.ts';
import type { ChangeFeed } from '../notify/change-feed.ts';
import { ProblemError } from '../problem.ts';
import { createRouter, type Router } from '../routing/route-alarms.ts';
import { shelve, unshelve } from '../routing/shelf.ts';
import type {
  Alarm,
  AlarmDetail,
  AlarmEntrySubmission,
  Change,
  EventSubmission,
  LimitsRequest,
  LimitsVersion,
  MissedSample,
  MissedSampleSubmission,
  PlantEvent,
  SampleAnswer,
  SampleCorrection,
  SampleSubmission,
  ShelvingSubmission,
  UnshelvingSubmission,
} from '../schemas.ts';
import { type AlarmQuery, NO_STREAM, type Store, type StoreTransaction } from '../store/store.ts';
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
  ): Promise<{ readonly stored: number; readonly repeated: number }>;
  correct(sampleId: string, correction: SampleCorrection, by: By): Promise<SampleAnswer>;
  freezeLimits(request: LimitsRequest, by: By): Promise<LimitsVersion>;
  declareMissed(missed: MissedSampleSubmission, by: By): Promise<MissedSample>;
  recordEvent(event: EventSubmission, by: By): Promise<PlantEvent>;
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
  /** What leaves is written with what it tells of; who watches here hears of it once it is durable. */
  async function recorded<T>(
    work: (transaction: StoreTransaction) => Promise<readonly [T, readonly Change[]]>,
    streams?: readonly string[],
  ): Promise<T> {
    const [result, changes] = await inSpan('transaction', {}, () =>
      store.transaction(async (transaction) => {
        const done = await inSpan('record', {}, () => work(transaction));
        await router.alarmsChanged(transaction, done[1], clock.now());
        return done;
      }, streams),
    );
    for (const change of changes) feed.publish(change);
    await feed.sent();
    return result;
  }

  return {
    accept: (submission, by) =>
      recorded(
        async (transaction) => {
          const { answer, repeated, changes } = await acceptSample(transaction, submission, by, clock.now());
          if (!repeated || !feed.hasOthers) return [{ answer, repeated }, changes];
          // The node that stored it may have died before it could tell the others.
          const { streamId } = submission;
          return [{ answer, repeated }, [{ kind: 'sample', streamId, sampleId: answer.sampleId }]];
        },
        [submission.streamId],
      ),

    acceptAll: (submissions, by, onProgress, alsoStored) =>
      recorded(
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

    correct: async (sampleId, correction, by) =>
      recorded(
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
          return [answer, changes];
        },
        streamOf(await store.sample(sampleId)),
      ),

    freezeLimits: (request, by) =>
      recorded(
        async (transaction) => {
          const plant = await transaction.plantModel();
          const { limits, changes } = await freezeLimits(transaction, plant, request, by, clock.now());
          const answer = limitsPayload(limits);
          await keepAnswer(transaction.sql, answer);
          return [answer, changes];
        },
        [request.streamId],
      ),

    declareMissed: (submission, by) =>
      recorded(
        async (transaction) => {
          const plant = await transaction.plantModel();
          const { missed, isNew } = await declareMissed(
            transaction,
            plant,
            submission,
            by.personId,
            clock.now(),
          );
          return [missedPayload(missed), isNew ? [{ kind: 'missed', streamId: missed.streamId }] : []];
        },
        [submission.streamId],
      ),

    recordEvent: (submission, by) =>
      recorded(
        async (transaction) => {
          const plant = await transaction.plantModel();
          const { event, isNew } = await recordEvent(
            transaction,
            plant,
            submission,
            by.personId,
            clock.now(),
          );
          return [eventPayload(event), isNew ? [{ kind: 'event', lineId: event.lineId }] : []];
        },
        [NO_STREAM],
      ),

    savePlantRecord: (plantRecord, reason, by, allowed) =>
      recorded(async (transaction) => {
        allowed?.(await transaction.plantRevision());
        const plant = await transaction.plantModel();
        const now = clock.now();
        const changed = await savePlantRecord(transaction, plant, plantRecord, reason, by, now);
        return [undefined, changed ? [{ kind: 'plant' }] : []];
      }),

    async addAlarmEntry(alarmId, entry, by) {
      await recorded(
        async (transaction) => {
          const alarm = await addAlarmEntry(transaction, alarmId, entry, by, clock.now());
          return [undefined, alarm === null ? [] : [alarmChange(alarm)]];
        },
        streamOf(await store.alarm(alarmId)),
      );
      return alarmDetail(store, alarmId, clock.now());
    },

    async shelve(alarmId, submission, by) {
      await recorded(
        async (transaction) => {
          requirePerson(await transaction.plantModel(), by.personId);
          const alarm = await shelve(transaction, alarmId, submission, by.personId, clock.now());
          return [undefined, alarm === null ? [] : [alarmChange(alarm)]];
        },
        streamOf(await store.alarm(alarmId)),
      );
      return alarmDetail(store, alarmId, clock.now());
    },

    async unshelve(alarmId, submission, by) {
      await recorded(
        async (transaction) => {
          requirePerson(await transaction.plantModel(), by.personId);
          const alarm = await unshelve(transaction, alarmId, submission, by.personId, clock.now());
          return [undefined, alarm === null ? [] : [alarmChange(alarm)]];
        },
        streamOf(await store.alarm(alarmId)),
      );
      return alarmDetail(store, alarmId, clock.now());
    },

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
