import { conflict, unacceptable, unknown } from '../problem.ts';
import type { Change, PlantModel, SampleAnswer, SampleCorrection } from '../schemas.ts';
import type { MeasuredValues, SampleRow, StoreTransaction } from '../store/store.ts';
import { sameValues } from './accept-sample.ts';
import { expectationOf } from './expectation.ts';
import { judge, laterStands, newestStands, surroundingsOf } from './judge.ts';
import { measuredValues } from './measured-values.ts';
import { signalPayload } from './payloads.ts';
import { recentCounts } from './recent-counts.ts';
import { productCalls, sampleAnswer } from './sample-answer.ts';
import { isRecent, numbered, settleAlarm, withdrawSignals } from './settle-alarm.ts';
import { requirePerson, streamContext } from './stream-context.ts';
import { validateValues } from './validate-sample.ts';

/**
 * A correction is a new record: the first values stay. The sample and those after it that look back on it are
 * judged anew; signals that lose their ground are withdrawn, new ones added.
 */
export async function correctSample(
  store: StoreTransaction,
  plant: PlantModel,
  sampleId: string,
  correction: SampleCorrection,
  personId: string,
  now: number,
): Promise<{ readonly answer: SampleAnswer; readonly changes: readonly Change[] }> {
  requirePerson(plant, personId);
  const id = correction.id.toLowerCase();
  const sample = await store.sample(sampleId);
  if (sample === null) throw unknown('sample', sampleId, 'id');
  const earlier = await store.correction(id);
  if (earlier !== null) {
    const same =
      earlier.sampleId === sample.id &&
      earlier.revision === correction.revision + 1 &&
      earlier.reason === correction.reason &&
      sameValues(earlier, correction);
    if (same) return { answer: earlier.answer, changes: [] };
    throw conflict('id', `Another correction is stored under the id ${id}; give each one an id of its own.`);
  }
  if (correction.revision !== sample.revision) {
    throw conflict(
      'revision',
      `The sample is at revision ${sample.revision}, not ${correction.revision}; look at its newest values, then correct those.`,
    );
  }
  const context = streamContext(plant, sample.streamId, sample.modelId);
  validateValues(correction, context);
  if (sameValues(sample, correction)) {
    const field = correction.readings === undefined ? 'count' : 'readings';
    throw unacceptable(field, 'equals what is stored already; there is nothing to correct.');
  }
  return storeCorrection(store, context, sample, { ...correction, id }, personId, now);
}

async function storeCorrection(
  store: StoreTransaction,
  context: ReturnType<typeof streamContext>,
  sample: SampleRow,
  correction: SampleCorrection,
  personId: string,
  now: number,
): Promise<{ readonly answer: SampleAnswer; readonly changes: readonly Change[] }> {
  const { stream, modelId, specification, settings } = context;
  const limits = await store.limitsAt(stream.id, modelId, sample.takenAt);
  const values = measuredValues(correction, specification, expectationOf(context, limits));
  const { size, mean, range, standardDeviation } = values;
  const { id: sampleId, no, takenAt } = sample;
  const revised = { id: sampleId, no, takenAt, size, mean, range, standardDeviation };

  const changes: Change[] = [{ kind: 'sample', streamId: stream.id, sampleId }];
  let judgement: Awaited<ReturnType<typeof judge>> | null = null;
  let stands = false;
  if (settings !== null && limits !== null) {
    const { before, after } = await surroundingsOf(store, context, limits, sample);
    const series = [...before, revised, ...after];
    judgement = await judge(store, context, limits, series, before.length, now);
    const because = `Sample of ${new Date(takenAt).toISOString()} was corrected: ${correction.reason}`;
    await withdrawSignals(store, judgement.withdrawn, { by: 'correction', because }, now);
    stands = await newestStands(store, context, series, judgement);
  } else {
    stands = (await laterStands(store, context, sample)) ?? false;
  }
  const countsBefore = await recentCounts(store, context, sample);
  const callsOf = (read: MeasuredValues) =>
    productCalls({ context, limits, values: read, recentCounts: countsBefore });
  const callOfProduct = callsOf(values);
  // A call that stood before the correction has raised its alarm already.
  const isNewCall = callOfProduct !== null && callsOf(sample) === null;
  const { alarmId, changes: alarmChanges } = await settleAlarm(
    store,
    context,
    judgement?.added ?? [],
    stands,
    now,
    { no, takenAt, values, productCalls: callOfProduct, isNewCall },
  );
  changes.push(...alarmChanges);
  const revision = correction.revision + 1;
  const calledBy = isNewCall && isRecent(sample, now) ? alarmId : null;
  if (calledBy !== null) await store.addOutsideSample(calledBy, sampleId, revision);
  else if (callOfProduct !== null) await store.keepOutsideSample(sampleId, revision);
  for (const signal of await numbered(store, context, judgement?.added ?? [], alarmId, now)) {
    await store.addSignal(signal);
  }
  const standing = (await store.signalsOfSample(sampleId)).filter(({ withdrawnAt }) => withdrawnAt === null);
  const answer = sampleAnswer({
    context,
    limits,
    sampleId,
    revision,
    storedAt: now,
    values,
    recentCounts: countsBefore,
    evaluation: judgement?.evaluations[0] ?? null,
    signals: standing.map(signalPayload),
    alarmId: calledBy ?? standing.find((signal) => signal.alarmId !== null)?.alarmId ?? null,
  });
  await store.addRevision({
    id: correction.id,
    sampleId,
    revision,
    reason: correction.reason,
    personId,
    at: now,
    values,
    answer,
  });
  return { answer, changes };
}
