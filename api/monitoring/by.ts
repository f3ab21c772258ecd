import type { Door } from '../store/store.ts';

/** Who acts, and through which door. */
export interface By {
  readonly personId: string;
  readonly door: Door;
}
