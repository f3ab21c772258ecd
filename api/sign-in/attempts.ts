/**
 * Slows guessing. A few tries are free; each further one in a row doubles the wait, up to a lock of a quarter of an
 * hour. Counted in the database, so that all nodes count together, and before the secret is compared, so that many
 * guesses at once are all counted.
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
  /** By several people. */
  readonly shared: boolean;
}

/** A PIN is guessed at a station, a password from anywhere: neither locks the other. */
export const ofPerson = (personId: string, way: 'pin' | 'password'): Subject => ({
  // As a digest: in a hurry a password is typed where the name belongs.
  name: `${way} ${digestOf(personId)}`,
  free: 3,
  shared: false,
});
/** Many people may share an address. */
export const ofAddress = (address: string): Subject => ({
  name: `address ${address}`,
  free: 20,
  shared: true,
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
  if (row === null || now - row.lastAt > FORGOTTEN_AFTER) return 0;
  const until = row.lastAt + waitAfter(row.failures, free);
  return until > now ? until : 0;
}

/** Counts an attempt as failed until it succeeds; refuses it with 429 where the subject has to wait. */
export async function beginAttempt(sql: Sql, subjects: readonly Subject[], now: number): Promise<void> {
  for (const subject of subjects) {
    const until = await waitsUntil(sql, subject, now);
    if (until > 0) throw tooMany(until - now);
  }
  await sql.run('delete from failed_attempts where last_at < ?', now - FORGOTTEN_AFTER);
  for (const { name } of subjects) {
    await sql.run(
      `insert into failed_attempts (subject, failures, last_at) values (?, 1, ?)
       on conflict (subject) do update set failures = failed_attempts.failures + 1, last_at = excluded.last_at`,
      name,
      now,
    );
  }
}

/** It was no failure. A person's earlier ones are forgotten; those of others at the same address are not. */
export async function attemptSucceeded(sql: Sql, subjects: readonly Subject[]): Promise<void> {
  for (const { name, shared } of subjects) {
    await sql.run(
      shared
        ? 'update failed_attempts set failures = failures - 1 where subject = ?'
        : 'delete from failed_attempts where subject = ?',
      name,
    );
  }
}

export async function forgetAttempts(sql: Sql, personId: string): Promise<void> {
  for (const way of ['pin', 'password'] as const) {
    await sql.run('delete from failed_attempts where subject = ?', ofPerson(personId, way).name);
  }
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
