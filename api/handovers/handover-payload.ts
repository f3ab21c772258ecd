import { isoTime } from '../monitoring/payloads.ts';
import { unknown } from '../problem.ts';
import type { Handover, HandoverSummary } from '../schemas.ts';
import type { StoreReads } from '../store/store.ts';
import { type HandoverRow, handoverNo } from './handover-records.ts';
import { mattersOf, openedSince, openWork } from './open-work.ts';

export const handoverSummary = ({ no, open, words, personId, at, end }: HandoverRow): HandoverSummary => ({
  no,
  state: end?.kind ?? 'waiting',
  personId,
  at: isoTime(at),
  words,
  openMatters: mattersOf(open).length,
  end: end && { kind: end.kind, personId: end.personId, at: isoTime(end.at), words: end.words },
});

/** While it waits, what has come up is looked at anew; afterwards it stays what the taker was shown. */
export async function handoverDetail(store: StoreReads, no: number, now: number): Promise<Handover> {
  const row = await handoverNo(store.sql, no);
  if (row === null) throw unknown('handover', no, 'id');
  const since =
    row.end === null ? openedSince(row.open, await openWork(store, now)) : [...row.end.openedSince];
  return { ...handoverSummary(row), open: row.open, openedSince: since };
}
