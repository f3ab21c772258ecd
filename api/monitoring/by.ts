import type { WriteKey } from '../idempotency/idempotency.ts';
import type { Door } from '../store/store.ts';
import type { Acting } from '../who.ts';

/** Who acts, how that is known, and through which door. */
export interface By {
  readonly personId: string;
  readonly door: Door;
  readonly how: Acting['how'];
  /** The second person who signed with them; only where one is asked for. */
  readonly secondPersonId?: string;
  /** The sender's name for this very write, which is then done once. Not part of the record. */
  readonly key?: WriteKey | undefined;
}
