import type { By } from '../monitoring/by.ts';
import { requirePerson } from '../monitoring/stream-context.ts';
import { conflict, ProblemError } from '../problem.ts';
import type { HandoverSubmission, OpenMatter, OpenWork } from '../schemas.ts';
import type { StoreTransaction } from '../store/store.ts';
import { uuidBytes } from '../store/uuid.ts';
import { handoverById, waitingOf } from './handover-records.ts';
import { mattersOf } from './open-work.ts';

/** Nobody signs for what they have not seen. */
export function refuseUnseen(matters: readonly OpenMatter[], seen: readonly string[]): void {
  const known = new Set(seen);
  const unseen = matters.filter(({ key }) => !known.has(key));
  const [first] = unseen;
  if (first === undefined) return;
  const more = unseen.length > 1 ? ` and ${unseen.length - 1} more` : '';
  const message = `Not on the list you read: ${first.title} (${first.sentence})${more}. Read it, then sign.`;
  throw new ProblemError(409, 'Something new came up', message, [{ field: 'seen', message }]);
}

/**
 * The supervisor who goes signs for what is open. Gives the number of the handover and whether it is new; the same
 * submission again stores nothing.
 */
export async function giveHandover(
  store: StoreTransaction,
  open: OpenWork,
  { id, words, seen }: HandoverSubmission,
  { personId }: By,
  now: number,
): Promise<{ readonly no: number; readonly isNew: boolean }> {
  requirePerson(await store.plantModel(), personId);
  const stored = await handoverById(store.sql, id);
  if (stored !== null) {
    if (stored.words === words && stored.personId === personId) return { no: stored.no, isNew: false };
    throw conflict(
      'id',
      `Another handover with the id ${id} is stored; give each handover an id of its own.`,
    );
  }
  const waiting = await waitingOf(store.sql, personId);
  if (waiting !== null)
    throw conflict(
      'id',
      `Your handover ${waiting.no} still waits for somebody to take it over; withdraw it with a reason before you give another.`,
    );
  refuseUnseen(mattersOf(open), seen);
  const no = await store.addNumbered('handovers', {
    id: uuidBytes(id),
    open: JSON.stringify(open),
    words,
    person_id: personId,
    at: now,
  });
  return { no, isNew: true };
}
