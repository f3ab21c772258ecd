import type { ConcessionState } from '../schemas.ts';
import type { ConcessionEntryRow, ConcessionRow } from './concession-records.ts';

/** Parts that went under it, less those taken back. */
export const releasedUnder = (entries: readonly Pick<ConcessionEntryRow, 'kind' | 'quantity'>[]): number =>
  entries.reduce((sum, { kind, quantity }) => sum + (kind === 'taken back' ? -1 : 1) * (quantity ?? 0), 0);

/** What its record adds up to at a moment. It expires by itself, and nothing has to be written for that. */
export function concessionState(
  { quantity, expiresAt }: Pick<ConcessionRow, 'quantity' | 'expiresAt'>,
  entries: readonly ConcessionEntryRow[],
  now: number,
): ConcessionState {
  if (entries.some(({ kind }) => kind === 'withdrawn')) return 'withdrawn';
  if (now >= expiresAt) return 'expired';
  return releasedUnder(entries) >= quantity ? 'used up' : 'valid';
}
