import { timedJudging } from '../metrics/judging.ts';
import { conflict } from '../problem.ts';
import type { Change, PlantModel, SampleAnswer, SampleSubmission } from '../schemas.ts';
import type { MeasuredValues, StoreTransaction } from '../store/store.ts';
import type { By } from './by.ts';
import { expectationOf } from './expectation.ts';
import { type Judgement, judge, laterStands, NOT_STORED, newestStands, surroundingsOfNew } from './judge.ts';
import { measuredValues } from './measured-values.ts';
import { recentCounts } from './recent-counts.ts';
import { productCalls, sampleAnswer } from './sample-answer.ts';
import { isRecent, numbered, type SettledAlarm, settleAlarm, withdrawSignals } from './settle-alarm.ts';
import { requirePerson, streamContext } from './stream-context.ts';
import { validateSample } from './validate-sample.ts';

export interface Accepted {
  readonly answer: SampleAnswer;
  readonly repeated: boolean;
  readonly changes: readonly Change[];
}

const none: Judgement = { evaluations: [], added: [], kept: [], withdrawn: [] };
const quiet: SettledAlarm = { alarmId: null, changes: [] };

/** One sample, inside a transaction: validate, judge, raise, store. */
export async function acceptSample(
  store: StoreTransaction,
  submission: SampleSubmission,
  by: By,
  now: number,
): Promise<Accepted> {
  const id = submission.id.toLowerCase();
  const time = Date.parse(submission.takenAt);
  const grounds = await store.groundsFor(id, submission.streamId, submission.modelId, time);
  const { plant, limits, earlierAnswer, activeAlarmId } = grounds;
  if (earlierAnswer !== null) {
    await refuseOtherContent(store, id, submission, plant);
    return { answer: earlierAnswer, repeated: true, changes: [] };
  }
  requirePerson(plant, by.personId);
  const context = streamContext(plant, submission.streamId, submission.modelId);
  const takenAt = validateSample(submission, context, now);
  const { stream, modelId, specification } = context;

  const values = measuredValues(submission, specification, expectationOf(context, limits));
  const place = { takenAt, no: NOT_STORED };
  const countsBefore = await recentCounts(store, context, place);
  const callOfProduct = productCalls({ context, limits, values, recentCounts: countsBefore });
  const concerned = callOfProduct !== null || activeAlarmId !== null;
  let judgement = none;
  let stands = false;
  if (context.settings !== null && limits !== null) {
    const { before, after, isNewest } = await surroundingsOfNew(store, context, limits, takenAt);
    const { size, mean, range, standardDeviation } = values;
    const sample = { takenAt, no: NOT_STORED, id, size, mean, range, standardDeviation };
    const series = [...before, sample, ...after];
    judgement = await timedJudging(() => judge(store, context, limits, series, before.length, now));
    stands = await newestStands(store, context, series, judgement, isNewest);
  } else if (concerned) {
    stands = (await laterStands(store, context, place)) ?? false;
  }
  let alarm = quiet;
  if (concerned || judgement.added.length > 0) {
    const sample = { ...place, values, productCalls: callOfProduct, isNewCall: true };
    alarm = await settleAlarm(store, context, judgement.added, stands, now, sample);
  }
  // null too where the sample is too old to call.
  const calledBy = callOfProduct === null || !isRecent(place, now) ? null : alarm.alarmId;
  const signals = await numbered(store, context, judgement.added, alarm.alarmId, now);
  const own = signals.filter(({ sampleId }) => sampleId === id);
  const answer = sampleAnswer({
    context,
    limits,
    sampleId: id,
    revision: 1,
    storedAt: now,
    values,
    recentCounts: countsBefore,
    evaluation: judgement.evaluations[0] ?? null,
    signals: own.map(({ id: signalId, sampleId, chart, rule, side, points, sentence }) => ({
      id: signalId,
      sampleId,
      chart,
      rule,
      side,
      points: [...points],
      sentence,
      withdrawn: false,
    })),
    alarmId: calledBy ?? own.find(({ alarmId }) => alarmId !== null)?.alarmId ?? null,
  });
  await store.addSample({
    id,
    streamId: stream.id,
    modelId,
    takenAt,
    storedAt: now,
    personId: by.personId,
    door: by.door,
    lot: lotOf(submission),
    note: submission.note ?? '',
    values,
    answer,
  });
  if (calledBy !== null) await store.addOutsideSample(calledBy, id, 1);
  for (const signal of signals) await store.addSignal(signal);
  const late = { by: 'late sample', because: 'A sample taken earlier came in.' } as const;
  await withdrawSignals(store, judgement.withdrawn, late, now);
  return {
    answer,
    repeated: false,
    changes: [{ kind: 'sample', streamId: stream.id, sampleId: id }, ...alarm.changes],
  };
}

const lotOf = ({ lot }: SampleSubmission): string | null => (lot === undefined || lot === '' ? null : lot);

/** The same id must carry the same content: two samples under one id would lose one of them unseen. */
async function refuseOtherContent(
  store: StoreTransaction,
  id: string,
  submission: SampleSubmission,
  plant: PlantModel,
): Promise<void> {
  const stored = (await store.sample(id))!;
  const [original] = await store.revisions(id);
  const unit = streamContext(plant, stored.streamId, stored.modelId).characteristic.unit;
  const same =
    stored.streamId === submission.streamId &&
    stored.modelId === submission.modelId &&
    stored.takenAt === Date.parse(submission.takenAt) &&
    stored.lot === lotOf(submission) &&
    stored.note === (submission.note ?? '') &&
    unit === submission.unit &&
    sameValues(original!, submission);
  if (same) return;
  throw conflict(
    'id',
    `Another sample is stored under the id ${id}; give each sample an id of its own, or correct the stored one.`,
  );
}

/** Compares what was measured, whatever the order of fields in the JSON. */
export function sameValues(
  stored: Pick<MeasuredValues, 'readings' | 'count'>,
  given: Pick<SampleSubmission, 'readings' | 'count'>,
): boolean {
  const plain = ({ readings, count }: typeof stored | typeof given) =>
    JSON.stringify([
      readings?.map(({ value, firstValue, asked }) => [value, firstValue, asked?.kind, asked?.decision]),
      count?.inspected,
      count?.nonconforming,
    ]);
  return plain(stored) === plain(given);
}
