import type { AlarmEntryRow, StoreReads } from '../store/store.ts';
import { type ConcessionEntryRow, concessions, entriesOfConcession } from './concession-records.ts';
import { concessionState, releasedUnder } from './concession-state.ts';

const MOST_OF_AN_ALARM = 1000;

/** The parts set apart at an alarm, by hand count and by what went under its concessions. */
export interface PartsApart {
  /** The newest count; null where nobody has counted. */
  readonly counted: number | null;
  /** Went before that count, so that they were not there to be counted. */
  readonly releasedBefore: number;
  /** Went since, out of those counted. */
  readonly releasedSince: number;
  /** Stand there still, as far as is known. */
  readonly left: number;
}

/**
 * What counts where there are several counts: each one is of all that stands apart at that moment, so the newest takes
 * the place of those before it, and nothing is added up. Taking back a release from before the count adds nothing
 * either: parts that come back are counted again.
 */
export function partsApart(
  alarmEntries: readonly AlarmEntryRow[],
  entries: readonly Pick<ConcessionEntryRow, 'kind' | 'quantity' | 'at'>[],
): PartsApart {
  const count = alarmEntries.findLast(({ countedParts }) => countedParts !== null);
  const countedAt = count?.at ?? Number.NEGATIVE_INFINITY;
  const counted = count?.countedParts ?? null;
  const releasedSince = Math.max(0, releasedUnder(entries.filter(({ at }) => at >= countedAt)));
  return {
    counted,
    releasedBefore: Math.max(0, releasedUnder(entries) - releasedSince),
    releasedSince,
    left: Math.max(0, (counted ?? 0) - releasedSince),
  };
}

/** The same as it is stored, with what the concessions that hold may still take of it. */
export async function partsApartAt(
  store: StoreReads,
  alarmId: number,
  now: number,
): Promise<PartsApart & { readonly promised: number }> {
  const all: ConcessionEntryRow[] = [];
  let promised = 0;
  for (const row of await concessions(store.sql, { alarmId, limit: MOST_OF_AN_ALARM })) {
    const entries = await entriesOfConcession(store.sql, row.no);
    all.push(...entries);
    if (concessionState(row, entries, now) === 'valid') promised += row.quantity - releasedUnder(entries);
  }
  return { ...partsApart(await store.alarmEntries(alarmId), all), promised };
}
