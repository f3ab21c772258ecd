import type { By } from '../monitoring/by.ts';
import { requirePerson } from '../monitoring/stream-context.ts';
import { plantTime } from '../plant-time.ts';
import { conflict, unknown } from '../problem.ts';
import type {
  HandoverTakingSubmission,
  HandoverWithdrawalSubmission,
  OpenMatter,
  OpenWork,
  PlantModel,
} from '../schemas.ts';
import { requireSecondSignature } from '../second-signatures.ts';
import type { StoreTransaction } from '../store/store.ts';
import { uuidBytes } from '../store/uuid.ts';
import { refuseUnseen } from './give-handover.ts';
import { type HandoverEndRow, type HandoverRow, handoverByEnd, handoverNo } from './handover-records.ts';
import { personName } from './matter.ts';
import { openedSince } from './open-work.ts';

/**
 * The supervisor who comes has read it, with what came up since, and signs as the second person. Gives whether that
 * is new.
 */
export async function takeHandover(
  store: StoreTransaction,
  no: number,
  openNow: OpenWork,
  { id, words, seen }: HandoverTakingSubmission,
  by: By,
  now: number,
): Promise<boolean> {
  const plant = await store.plantModel();
  requirePerson(plant, by.personId);
  const handover = await waiting(store, plant, no, id, { kind: 'taken', words, personId: by.personId });
  if (handover === null) return false;
  const both = { ...by, secondPersonId: handover.personId };
  requireSecondSignature(plant.people, both, 'shift handover', 'Runtrue-Person');
  const since = openedSince(handover.open, openNow);
  refuseUnseen(since, seen);
  await end(
    store,
    { handoverNo: no, kind: 'taken', words, openedSince: since, personId: by.personId, at: now },
    id,
  );
  return true;
}

/** Given by mistake, or overtaken: it is not taken over any more. Gives whether that is new. */
export async function withdrawHandover(
  store: StoreTransaction,
  no: number,
  { id, reason }: HandoverWithdrawalSubmission,
  { personId }: By,
  now: number,
): Promise<boolean> {
  const plant = await store.plantModel();
  requirePerson(plant, personId);
  const handover = await waiting(store, plant, no, id, { kind: 'withdrawn', words: reason, personId });
  if (handover === null) return false;
  const openedNone: readonly OpenMatter[] = [];
  await end(
    store,
    { handoverNo: no, kind: 'withdrawn', words: reason, openedSince: openedNone, personId, at: now },
    id,
  );
  return true;
}

/** The handover, if it waits; null where this very submission has ended it before. */
async function waiting(
  store: StoreTransaction,
  plant: PlantModel,
  no: number,
  id: string,
  wanted: Pick<HandoverEndRow, 'kind' | 'words' | 'personId'>,
): Promise<HandoverRow | null> {
  const handover = await handoverNo(store.sql, no);
  if (handover === null) throw unknown('handover', no, 'id');
  const earlier = await handoverByEnd(store.sql, id);
  if (earlier !== null) {
    const { kind, words, personId } = earlier.end!;
    const same = kind === wanted.kind && words === wanted.words && personId === wanted.personId;
    if (earlier.no === no && same) return null;
    throw conflict('id', `Another record with the id ${id} is stored; give each one an id of its own.`);
  }
  const { end: ended } = handover;
  if (ended === null) return handover;
  const name = personName(plant, ended.personId);
  const when = plantTime(ended.at, plant.plant.utcOffsetMinutes);
  throw conflict(
    'id',
    ended.kind === 'taken'
      ? `${name} took handover ${no} over at ${when}.`
      : `${name} withdrew handover ${no} at ${when}: ${ended.words}`,
  );
}

async function end(store: StoreTransaction, row: HandoverEndRow, id: string): Promise<void> {
  await store.addNumbered('handover_ends', {
    id: uuidBytes(id),
    handover_no: row.handoverNo,
    kind: row.kind,
    words: row.words,
    opened_since: JSON.stringify(row.openedSince),
    person_id: row.personId,
    at: row.at,
  });
}
