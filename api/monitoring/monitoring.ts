import { setImmediate } from 'node:timers/promises';
import type { Clock } from '../clock.ts';
import type { ChangeFeed } from '../notify/change-feed.ts';
import { ProblemError } from '../problem.ts';
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
} from '../schemas.ts';
import type { AlarmQuery, Store, StoreTransaction } from '../store/store.ts';
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

/** The one path of everything that is recorded: validate, store, evaluate, signal, alarm, notify. */
export interface Monitoring {
  /** Resolves when the sample is durable. The same sample again stores nothing and gives the same answer. */
  accept(
    submission: SampleSubmission,
    by: By,
  ): Promise<{ readonly answer: SampleAnswer; readonly repeated: boolean }>;
  /** All or nothing. Lets other work run in between, and reports how many are done. */
  acceptAll(
    submissions: readonly SampleSubmission[],
    by: By,
    onProgress?: (done: number, total: number) => void,
  ): Promise<{ readonly stored: number; readonly repeated: number }>;
  correct(sampleId: string, correction: SampleCorrection, by: By): Promise<SampleAnswer>;
  freezeLimits(request: LimitsRequest, by: By): Promise<LimitsVersion>;
  declareMissed(missed: MissedSampleSubmission, by: By): Promise<MissedSample>;
  recordEvent(event: EventSubmission, by: By): Promise<PlantEvent>;
  savePlantRecord(plantRecord: PlantRecord, reason: string, by: By): Promise<void>;
  addAlarmEntry(alarmId: number, entry: AlarmEntrySubmission, by: By): Promise<AlarmDetail>;
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
}: {
  readonly store: Store;
  readonly clock: Clock;
  readonly feed: ChangeFeed;
}): Monitoring {
  /** Tells of changes only after they are durable. */
  async function recorded<T>(
    work: (transaction: StoreTransaction) => Promise<readonly [T, readonly Change[]]>,
  ): Promise<T> {
    const [result, changes] = await store.transaction(work);
    for (const change of changes) feed.publish(change);
    return result;
  }

  return {
    accept: (submission, by) =>
      recorded(async (transaction) => {
        const accepted = await acceptSample(transaction, submission, by, clock.now());
        return [{ answer: accepted.answer, repeated: accepted.repeated }, accepted.changes];
      }),

    acceptAll: (submissions, by, onProgress) =>
      recorded(async (transaction) => {
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
        return [{ stored: submissions.length - repeated, repeated }, [...changes.values()]];
      }),

    correct: (sampleId, correction, by) =>
      recorded(async (transaction) => {
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
      }),

    freezeLimits: (request, by) =>
      recorded(async (transaction) => {
        const plant = await transaction.plantModel();
        const { limits, changes } = await freezeLimits(transaction, plant, request, by.personId, clock.now());
        return [limitsPayload(limits), changes];
      }),

    declareMissed: (submission, by) =>
      recorded(async (transaction) => {
        const plant = await transaction.plantModel();
        const { missed, isNew } = await declareMissed(
          transaction,
          plant,
          submission,
          by.personId,
          clock.now(),
        );
        return [missedPayload(missed), isNew ? [{ kind: 'missed', streamId: missed.streamId }] : []];
      }),

    recordEvent: (submission, by) =>
      recorded(async (transaction) => {
        const plant = await transaction.plantModel();
        const { event, isNew } = await recordEvent(transaction, plant, submission, by.personId, clock.now());
        return [eventPayload(event), isNew ? [{ kind: 'event', lineId: event.lineId }] : []];
      }),

    savePlantRecord: (plantRecord, reason, by) =>
      recorded(async (transaction) => {
        const plant = await transaction.plantModel();
        const now = clock.now();
        const changed = await savePlantRecord(transaction, plant, plantRecord, reason, by.personId, now);
        return [undefined, changed ? [{ kind: 'plant' }] : []];
      }),

    async addAlarmEntry(alarmId, entry, by) {
      await recorded(async (transaction) => {
        const alarm = await addAlarmEntry(transaction, alarmId, entry, by.personId, clock.now());
        return [undefined, alarm === null ? [] : [alarmChange(alarm)]];
      });
      return alarmDetail(store, alarmId, clock.now());
    },

    async alarms(query) {
      const now = clock.now();
      const rows = await store.alarms(query);
      return Promise.all(rows.map((row) => alarmPayload(store, row, now)));
    },

    alarm: (id) => alarmDetail(store, id, clock.now()),
  };
}

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
