import { requirePerson } from '../monitoring/stream-context.ts';
import { conflict, unacceptable, unknown } from '../problem.ts';
import type { ConcessionEntrySubmission } from '../schemas.ts';
import type { StoreTransaction } from '../store/store.ts';
import { uuidBytes } from '../store/uuid.ts';
import {
  type ConcessionEntryRow,
  type ConcessionRow,
  concessionEntryById,
  concessionNo,
  entriesOfConcession,
} from './concession-records.ts';
import { concessionState, releasedUnder } from './concession-state.ts';
import { partsApartAt } from './parts-apart.ts';

/** Refuses what the customer has not agreed to. */
function check(
  row: ConcessionRow,
  entries: readonly ConcessionEntryRow[],
  entry: ConcessionEntrySubmission,
  now: number,
): void {
  const { no, quantity, expiresOn } = row;
  const state = concessionState(row, entries, now);
  const released = releasedUnder(entries);
  switch (entry.kind) {
    case 'released':
      if (state === 'withdrawn')
        throw conflict('kind', `Concession ${no} was withdrawn; nothing may go under it.`);
      if (state === 'expired')
        throw conflict(
          'kind',
          `Concession ${no} expired at the end of ${expiresOn}; ask the customer for a new one.`,
        );
      if (released + entry.quantity > quantity)
        throw unacceptable(
          'quantity',
          `The customer takes ${quantity} under concession ${no}, and ${released} are released; at most ${
            quantity - released
          } more may go.`,
        );
      return;
    case 'taken back':
      if (entry.quantity > released)
        throw unacceptable(
          'quantity',
          `Only ${released} are released under concession ${no}; no more can be taken back.`,
        );
      return;
    case 'withdrawn':
      if (state === 'withdrawn') throw conflict('kind', `Concession ${no} is withdrawn already.`);
  }
}

/** No more goes than stands apart by the newest count, whatever was counted when the concession was signed. */
async function requireCounted(
  store: StoreTransaction,
  alarmId: number,
  quantity: number,
  now: number,
): Promise<void> {
  const { counted, releasedSince, left } = await partsApartAt(store, alarmId, now);
  if (quantity <= left) return;
  throw unacceptable(
    'quantity',
    `The last count at alarm ${alarmId} is ${counted ?? 0}${
      releasedSince > 0 ? `, and ${releasedSince} of them are released since` : ''
    }; ${left === 0 ? 'none may go' : `at most ${left} may go`} until they are counted again.`,
  );
}

/** Gives the concession that changed, and whether the entry is new. */
export async function addConcessionEntry(
  store: StoreTransaction,
  no: number,
  entry: ConcessionEntrySubmission,
  personId: string,
  now: number,
): Promise<{ readonly row: ConcessionRow; readonly isNew: boolean }> {
  requirePerson(await store.plantModel(), personId);
  const row = await concessionNo(store.sql, no);
  if (row === null) throw unknown('concession', no, 'id');
  const quantity = 'quantity' in entry ? entry.quantity : null;
  const { id, kind, text } = entry;
  const stored = await concessionEntryById(store.sql, id);
  if (stored !== null) {
    const same = stored.kind === kind && stored.quantity === quantity && stored.text === text;
    if (same && stored.concessionNo === no && stored.personId === personId) return { row, isNew: false };
    throw conflict('id', `Another entry with the id ${id} is stored; give each entry an id of its own.`);
  }
  check(row, await entriesOfConcession(store.sql, no), entry, now);
  if (entry.kind === 'released') await requireCounted(store, row.alarmId, entry.quantity, now);
  await store.addNumbered('concession_entries', {
    id: uuidBytes(id),
    concession_no: no,
    kind,
    quantity,
    text,
    person_id: personId,
    at: now,
  });
  return { row, isNew: true };
}
