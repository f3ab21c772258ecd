import { isoTime } from '../monitoring/payloads.ts';
import { unknown } from '../problem.ts';
import type { Concession } from '../schemas.ts';
import type { StoreReads } from '../store/store.ts';
import {
  type ConcessionQuery,
  type ConcessionRow,
  concessionNo,
  concessions,
  entriesOfConcession,
} from './concession-records.ts';
import { concessionState, releasedUnder } from './concession-state.ts';
import { partsApartAt } from './parts-apart.ts';

const parts = (count: number): string => `${count} part${count === 1 ? '' : 's'}`;

/** `apart` is what stands at the alarm by the last count, which may be less than the customer would take. */
function sentenceOf(
  { no, state, released, left, quantity, expiresOn }: Omit<Concession, 'sentence' | 'entries'>,
  apart: number,
): string {
  const soFar = `${released} of ${parts(quantity)} released under concession ${no}`;
  switch (state) {
    case 'valid':
      return apart >= left
        ? `${soFar}; ${left} more may go until the end of ${expiresOn}.`
        : `${soFar}; ${left} more were agreed until the end of ${expiresOn}, but by the last count ${
            apart === 0 ? 'none stand apart: none may go' : `${apart} stand apart: no more may go`
          }.`;
    case 'used up':
      return `${soFar}: all that the customer takes. Nothing more may go under it.`;
    case 'expired':
      return `${soFar}. It expired at the end of ${expiresOn}: nothing more may go under it.`;
    case 'withdrawn':
      return `${soFar}. It was withdrawn: nothing more may go under it.`;
  }
}

async function payload(store: StoreReads, row: ConcessionRow, now: number): Promise<Concession> {
  const entries = await entriesOfConcession(store.sql, row.no);
  // Its foreign key says that it is there.
  const alarm = (await store.alarm(row.alarmId))!;
  const released = releasedUnder(entries);
  const concession = {
    no: row.no,
    state: concessionState(row, entries, now),
    alarmId: row.alarmId,
    streamId: alarm.streamId,
    modelId: alarm.modelId,
    customer: row.customer,
    consent: { document: row.consentDocument, givenBy: row.consentedBy, on: row.consentedOn },
    quantity: row.quantity,
    released,
    left: row.quantity - released,
    expiresOn: row.expiresOn,
    reason: row.reason,
    personId: row.personId,
    at: isoTime(row.at),
  };
  const apart =
    concession.state === 'valid' ? (await partsApartAt(store, row.alarmId, now)).left : concession.left;
  return {
    ...concession,
    sentence: sentenceOf(concession, apart),
    entries: entries.map(({ kind, quantity, text, personId, at }) => ({
      kind,
      quantity,
      text,
      personId,
      at: isoTime(at),
    })),
  };
}

export async function concessionsOf(
  store: StoreReads,
  query: ConcessionQuery,
  now: number,
): Promise<Concession[]> {
  const rows = await concessions(store.sql, query);
  return Promise.all(rows.map((row) => payload(store, row, now)));
}

export async function concessionDetail(store: StoreReads, no: number, now: number): Promise<Concession> {
  const row = await concessionNo(store.sql, no);
  if (row === null) throw unknown('concession', no, 'id');
  return payload(store, row, now);
}
