import type { Clock } from '../clock.ts';
import type { RateLimiters } from '../http/rate-limits.ts';
import { isoTime } from '../monitoring/payloads.ts';
import type { Store } from '../store/store.ts';
import type { Identify } from '../who.ts';
import { keyMisplaced, keyRefused } from './key-refusals.ts';
import type { Keys } from './keys.ts';
import { refuseOutOfReach } from './reach.ts';
import { isWellFormed } from './secret.ts';

/** The key that a request carries (RFC 6750 section 2.1); null where it carries none. */
function secretIn(headers: Headers): string | null {
  const [, given] = /^bearer(?: +(.*))?$/i.exec(headers.get('authorization') ?? '') ?? [null, null];
  if (given === null) return null;
  if (given === undefined || given === '') throw keyMisplaced();
  return given;
}

/** A request with a key is the program's, whatever else it carries; every other request is `otherwise`'s to know. */
export function byKeyOr({
  keys,
  limiters,
  store,
  clock,
  otherwise,
}: {
  readonly keys: Keys;
  readonly limiters: RateLimiters;
  readonly store: Store;
  readonly clock: Clock;
  readonly otherwise: Identify;
}): Identify {
  return async (request) => {
    const secret = secretIn(request.headers);
    if (secret === null) return otherwise(request);
    if (!isWellFormed(secret))
      throw keyRefused('This is not a whole key of Runtrue; copy it again from its first to its last sign.');
    const key = await keys.find(secret);
    if (key === null)
      throw keyRefused('This key is not known here; an administrator of this plant can make one.');
    if (key.revokedAt !== null)
      throw keyRefused(`The key ${key.id} was revoked on ${isoTime(key.revokedAt)}; ask for another one.`);
    if (key.expiresAt !== null && key.expiresAt <= clock.now())
      throw keyRefused(`The key ${key.id} expired on ${isoTime(key.expiresAt)}; ask for another one.`);
    await limiters.key(key.id);
    // Nobody waits for the note, and a request that could be answered does not fail for it.
    keys.used(key).catch(() => {});
    const { id, scopes, reach } = key;
    const plant = await store.plantModel();
    return {
      how: 'key',
      person: null,
      stationId: null,
      keyId: id,
      may: (action) => action === 'come in' || scopes.some((scope) => scope === action),
      ...(reach !== null && { within: (about) => refuseOutOfReach(id, reach, about, plant) }),
    };
  };
}
