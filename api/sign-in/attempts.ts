/**
 * Slows guessing. A few tries are free; each further one in a row doubles the wait, up to a lock of a quarter of an
 * hour. Counted in the database, so that all nodes count together. A person's try is counted before the secret is
 * compared, so that many guesses at once are all counted.
 */
import { ProblemError } from '../problem.ts';
import type { Sql } from '../store/sql.ts';
import { digestOf } from './tokens.ts';

const SECOND = 1000;
const LONGEST_WAIT = 15 * 60 * SECOND;
const FORGOTTEN_AFTER = 24 * 60 * 60 * SECOND;

export interface Subject {
  readonly name: string;
  /** Failures in a row without a wait. */
  readonly free: number;
  /** One failure is forgotten in this time. */
  readonly forgets: number;
}

/** 'code': what an authenticator shows, or a recovery code. */
const ways = ['pin', 'password', 'code'] as const;
export type Way = (typeof ways)[number];

/** A PIN is guessed at a station, a password from anywhere: neither locks the other. */
export const ofPerson = (personId: string, way: Way): Subject => ({
  // As a digest: in a hurry a password is typed where the name belongs.
  name: `${way} ${digestOf(personId)}`,
  free: 3,
  forgets: FORGOTTEN_AFTER,
});
/** A whole shift may share an address, and some of them mistype. */
export const ofAddress = (address: string): Subject => ({
  name: `address ${address}`,
  free: 20,
  forgets: 60 * SECOND,
});

const waitAfter = (failures: number, free: number): number =>
  failures < free ? 0 : Math.min(LONGEST_WAIT, SECOND * 2 ** Math.min(failures - free, 20));

interface Row {
  readonly failures: number;
  readonly lastAt: number;
}

/** The moment until which a subject waits; 0 where it does not. */
async function waitsUntil(sql: Sql, { name, free }: Subject, now: number): Promise<number> {
  const row = await sql.one<Row>(
    'select failures, last_at as "lastAt" from failed_attempts where subject = ?',
    name,
  );
  // A clock that was set back must not keep anybody waiting until it is there again.
  if (row === null || row.lastAt > now || now - row.lastAt > FORGOTTEN_AFTER) return 0;
  const until = row.lastAt + waitAfter(row.failures, free);
  return until > now ? until : 0;
}

/** Refuses with 429 where a subject has to wait. */
export async function refuseWhileWaiting(sql: Sql, subjects: readonly Subject[], now: number): Promise<void> {
  for (const subject of subjects) {
    const until = await waitsUntil(sql, subject, now);
    if (until > 0) throw tooMany(until - now);
  }
}

export async function countFailure(sql: Sql, { name, forgets }: Subject, now: number): Promise<void> {
  await sql.run('delete from failed_attempts where last_at < ?', now - FORGOTTEN_AFTER);
  await sql.run(
    `insert into failed_attempts (subject, failures, last_at) values (?, 1, ?)
     on conflict (subject) do update set
       failures = 1 + case
         when excluded.last_at < failed_attempts.last_at then failed_attempts.failures
         when (excluded.last_at - failed_attempts.last_at) / cast(? as bigint) < failed_attempts.failures
         then failed_attempts.failures - (excluded.last_at - failed_attempts.last_at) / cast(? as bigint)
         else 0 end,
       last_at = excluded.last_at`,
    name,
    now,
    forgets,
    forgets,
  );
}

/** The person has proven who they are. */
export const forgetFailures = (sql: Sql, { name }: Subject): Promise<void> =>
  sql.run('delete from failed_attempts where subject = ?', name);

/** Of every way to sign in. */
export async function forgetAttempts(sql: Sql, personId: string): Promise<void> {
  for (const way of ways) await forgetFailures(sql, ofPerson(personId, way));
}

function tooMany(wait: number): ProblemError {
  const seconds = Math.ceil(wait / SECOND);
  const shown =
    seconds < 120
      ? `${seconds} ${seconds === 1 ? 'second' : 'seconds'}`
      : `${Math.ceil(seconds / 60)} minutes`;
  const message = `Too many tries that failed. Wait ${shown}, then try again; an administrator can give a new one-time link.`;
  return new ProblemError(429, 'Too many tries', message, [{ field: 'secret', message }], {
    'Retry-After': String(seconds),
  });
}
