import { requirePermission } from '../permissions.ts';
import { conflict, unknown } from '../problem.ts';
import type { MissedSampleSubmission, PlantModel } from '../schemas.ts';
import type { MissedRow, StoreTransaction } from '../store/store.ts';
import { personOf } from './stream-context.ts';
import { validTime } from './validate-sample.ts';

/** A planned sample that was not taken, with an honest reason. Said again it stays as it was said first. */
export async function declareMissed(
  store: StoreTransaction,
  plant: PlantModel,
  submission: MissedSampleSubmission,
  personId: string,
  now: number,
): Promise<{ readonly missed: MissedRow; readonly isNew: boolean }> {
  const { streamId, reason } = submission;
  requirePermission(personOf(plant, personId), 'declare missed samples');
  if (!plant.streams.some(({ id }) => id === streamId)) throw unknown('stream', streamId, 'streamId');
  const dueAt = validTime(submission.dueAt, 'dueAt', now);
  const stored = await store.missedSample(streamId, dueAt);
  if (stored === null) {
    const missed = { streamId, dueAt, reason, personId, at: now };
    await store.addMissedSample(missed);
    return { missed, isNew: true };
  }
  if (stored.reason === reason) return { missed: stored, isNew: false };
  throw conflict(
    'dueAt',
    `This sample is declared missed already, by ${stored.personId}: "${stored.reason}". The first reason stays.`,
  );
}
