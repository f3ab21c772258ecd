/** Sessions of people. The cookie carries a random token, the database its digest. */
import type { Sql } from '../store/sql.ts';
import type { Store } from '../store/store.ts';
import { digestOf, newToken } from './tokens.ts';

const SECOND = 1000;
const MINUTE = 60 * SECOND;
const HOUR = 60 * MINUTE;

/** A shared station is left without a word; at a desk of one's own it takes longer to be certain. */
const idleTime = (atStation: boolean): number => (atStation ? 15 * MINUTE : 2 * HOUR);
/** A shift and its handovers. */
export const LONGEST_SESSION = 12 * HOUR;
/** Each use is not worth a write. */
const NOTED_EVERY = 30 * SECOND;

export interface Session {
  readonly personId: string;
  readonly registrationId: string | null;
  /** It ends then, unless it is used before. */
  readonly endsAt: number;
}

interface Row {
  readonly personId: string;
  readonly registrationId: string | null;
  readonly beganAt: number;
  readonly lastUsedAt: number;
  readonly endedAt: number | null;
}

const endOf = ({ registrationId, beganAt, lastUsedAt }: Row): number =>
  Math.min(beganAt + LONGEST_SESSION, lastUsedAt + idleTime(registrationId !== null));

export async function beginSession(
  sql: Sql,
  personId: string,
  registrationId: string | null,
  now: number,
): Promise<string> {
  const token = newToken();
  // What is long over is of no use to anybody; that it was is in the audit notes.
  await sql.run('delete from sessions where began_at < ?', now - 2 * LONGEST_SESSION);
  await sql.run(
    'insert into sessions (token_digest, person_id, registration_id, began_at, last_used_at) values (?, ?, ?, ?, ?)',
    digestOf(token),
    personId,
    registrationId,
    now,
    now,
  );
  return token;
}

/** The session of a token while it lasts. `used`: a person did something, so that it lasts longer. */
export async function sessionOf(
  store: Store,
  token: string,
  registrationId: string | null,
  used: boolean,
  now: number,
): Promise<Session | null> {
  const digest = digestOf(token);
  const row = await store.sql.one<Row>(
    `select person_id as "personId", registration_id as "registrationId", began_at as "beganAt",
       last_used_at as "lastUsedAt", ended_at as "endedAt"
     from sessions where token_digest = ?`,
    digest,
  );
  if (row === null || row.endedAt !== null || endOf(row) <= now) return null;
  if (row.registrationId !== null && row.registrationId !== registrationId) return null;
  if (!used || now - row.lastUsedAt < NOTED_EVERY) return { ...row, endsAt: endOf(row) };
  // Nothing is refused for this: at worst the session ends a little earlier.
  await store
    .transaction(
      ({ sql }) => sql.run('update sessions set last_used_at = ? where token_digest = ?', now, digest),
      [],
    )
    .catch(() => {});
  return { ...row, endsAt: endOf({ ...row, lastUsedAt: now }) };
}

/** Gives whose it was; null where there was none to end. */
export async function endSession(sql: Sql, token: string, now: number): Promise<string | null> {
  const row = await sql.one<{ personId: string }>(
    `update sessions set ended_at = ? where token_digest = ? and ended_at is null
     returning person_id as "personId"`,
    now,
    digestOf(token),
  );
  return row?.personId ?? null;
}

export const endSessionsOf = (sql: Sql, personId: string, now: number): Promise<void> =>
  sql.run('update sessions set ended_at = ? where person_id = ? and ended_at is null', now, personId);

export const endSessionsAt = (sql: Sql, registrationId: string, now: number): Promise<void> =>
  sql.run(
    'update sessions set ended_at = ? where registration_id = ? and ended_at is null',
    now,
    registrationId,
  );
