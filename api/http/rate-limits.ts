/**
 * How often one client or key may ask, so that none takes the server from the others. Counted in this process: each
 * of several nodes allows as much. Failed tries at a secret are counted in the database besides (sign-in/attempts.ts).
 */
import { RateLimiterMemory, RateLimiterRes } from 'rate-limiter-flexible';
import { ProblemError } from '../problem.ts';

/** Requests a minute. */
export interface RateLimits {
  /** To addresses where somebody proves who they are, from one client. */
  readonly signIn: number;
  /** With keys that were refused, from one client. */
  readonly refusedKeys: number;
  /** With one key. */
  readonly key: number;
  /** By one person who is signed in, or from one registered station where nobody is. */
  readonly session: number;
}

/** A whole shift may sign in through one address; a gauge or a page that asks 50 times a second is broken. */
export const usualRates: RateLimits = { signIn: 120, refusedKeys: 30, key: 3000, session: 3000 };

const SECONDS = 60;

function refuse({ msBeforeNext }: RateLimiterRes, what: string): never {
  const seconds = Math.max(1, Math.ceil(msBeforeNext / 1000));
  const message = `${what}; try again in ${seconds} seconds.`;
  throw new ProblemError(429, 'Too many requests', message, [{ field: 'request', message }], {
    'Retry-After': String(seconds),
  });
}

/** Counts one, and gives how many there are by now. */
async function count(limiter: RateLimiterMemory, of: string): Promise<RateLimiterRes> {
  try {
    return await limiter.consume(of);
  } catch (result) {
    if (result instanceof RateLimiterRes) return result;
    throw result;
  }
}

/** Whoever has an IPv6 line has a whole /64 of addresses. */
function ofOneLine(address: string): string {
  if (!address.includes(':')) return address;
  const [head = '', tail] = address.split('::');
  const first = head.split(':');
  const missing = tail === undefined ? 0 : 8 - first.length - tail.split(':').length;
  return [...first, ...Array(Math.max(0, missing)).fill('0'), ...(tail ?? '').split(':')]
    .slice(0, 4)
    .join(':');
}

export function createRateLimiters(rates: RateLimits) {
  const limiter = (points: number): RateLimiterMemory => new RateLimiterMemory({ points, duration: SECONDS });
  const signIn = limiter(rates.signIn);
  const refusedKeys = limiter(rates.refusedKeys);
  const key = limiter(rates.key);
  const session = limiter(rates.session);
  const tooManyTries = 'Too many tries from this address';
  return {
    /** A request to an address where somebody proves who they are. */
    async signIn(address: string): Promise<void> {
      const result = await count(signIn, ofOneLine(address));
      if (result.consumedPoints > signIn.points) refuse(result, tooManyTries);
    },
    /** Before a key is looked at. */
    async mayTryKey(address: string): Promise<void> {
      const result = await refusedKeys.get(ofOneLine(address));
      if (result !== null && result.consumedPoints >= refusedKeys.points) refuse(result, tooManyTries);
    },
    async keyWasRefused(address: string): Promise<void> {
      await count(refusedKeys, ofOneLine(address));
    },
    /** A request with a good key. */
    async key(id: string): Promise<void> {
      const result = await count(key, id);
      if (result.consumedPoints > key.points)
        refuse(result, `The key ${id} may send ${rates.key} requests a minute`);
    },
    /** A request under a sign-in. `of`: the person, or the station. */
    async session(of: string): Promise<void> {
      const result = await count(session, of);
      if (result.consumedPoints > session.points)
        refuse(result, `One person may send ${rates.session} requests a minute`);
    },
  };
}
export type RateLimiters = ReturnType<typeof createRateLimiters>;
