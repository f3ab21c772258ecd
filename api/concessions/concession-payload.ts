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

const parts = (count: number): string => `${count} part${count === 1 ? '' : 's'}`;

function sentenceOf({
  no,
  state,
  released,
  left,
  quantity,
  expiresOn,
}: Omit<Concession, 'sentence' | 'entries'>): string {
  const soFar = `${released} of ${parts(quantity)} released under concession ${no}`;
  switch (state) {
    case 'valid':
      return `${soFar}; ${left} more may go until the end of ${expiresOn}.`;
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
  return {
    ...concession,
    sentence: sentenceOf(concession),
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
