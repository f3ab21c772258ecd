/** Sessions of people. The cookie carries a random token, the database its digest. */
import { type Sql, valuesOf } from '../store/sql.ts';
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

/** How somebody has proven who they are; 'link': by a one-time link. */
type SessionWay =
  | 'password'
  | 'password and code'
  | 'password and recovery code'
  | 'pin'
  | 'link'
  | 'provider';

export interface Proven {
  readonly way: SessionWay;
  /** They first have to set up a second factor; until then they do nothing else. */
  readonly limited: boolean;
}

export interface Session extends Proven {
  readonly personId: string;
  readonly registrationId: string | null;
  /** It ends then, unless it is used before. */
  readonly endsAt: number;
}

interface Row {
  readonly digest: string;
  readonly personId: string;
  readonly registrationId: string | null;
  readonly beganAt: number;
  readonly lastUsedAt: number;
  readonly endedAt: number | null;
  /** null: begun by an earlier version. */
  readonly way: SessionWay | null;
  readonly limited: number;
  readonly device: string | null;
}

const columns = `token_digest as digest, person_id as "personId", registration_id as "registrationId",
  began_at as "beganAt", last_used_at as "lastUsedAt", ended_at as "endedAt", way, limited, device`;

const sessionFrom = (row: Row): Session => ({
  personId: row.personId,
  registrationId: row.registrationId,
  way: row.way ?? 'password',
  limited: row.limited === 1,
  endsAt: endOf(row),
});

const endOf = ({ registrationId, beganAt, lastUsedAt }: Row): number =>
  Math.min(beganAt + LONGEST_SESSION, lastUsedAt + idleTime(registrationId !== null));

export async function beginSession(
  sql: Sql,
  {
    personId,
    registrationId,
    way,
    limited,
    provenAt,
    device,
  }: Omit<Session, 'endsAt'> & { readonly provenAt?: number; readonly device: string | null },
  now: number,
): Promise<string> {
  const token = newToken();
  // What is long over is of no use to anybody; that it was is in the audit notes.
  await sql.run('delete from sessions where began_at < ?', now - 2 * LONGEST_SESSION);
  await sql.run(
    `insert into sessions ${valuesOf('token_digest, person_id, registration_id, way, limited, device, began_at, last_used_at')}`,
    digestOf(token),
    personId,
    registrationId,
    way,
    limited ? 1 : 0,
    device,
    Math.min(provenAt ?? now, now),
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
  const row = await store.sql.one<Row>(`select ${columns} from sessions where token_digest = ?`, digest);
  if (row === null || row.endedAt !== null || endOf(row) <= now) return null;
  if (row.registrationId !== null && row.registrationId !== registrationId) return null;
  if (!used || now - row.lastUsedAt < NOTED_EVERY) return sessionFrom(row);
  // Nothing is refused for this: at worst the session ends a little earlier.
  await store
    .transaction(
      ({ sql }) => sql.run('update sessions set last_used_at = ? where token_digest = ?', now, digest),
      [],
    )
    .catch(() => {});
  return sessionFrom({ ...row, lastUsedAt: now });
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

/** A session as its person sees it. */
export interface ListedSession {
  /** Tells it from the others, and opens nothing. */
  readonly id: string;
  readonly beganAt: number;
  readonly lastUsedAt: number;
  readonly endsAt: number;
  readonly way: SessionWay;
  readonly stationId: string | null;
  /** "Chromium on Linux"; null where the browser does not say, and for sessions of an earlier version. */
  readonly device: string | null;
  /** The one that asks. */
  readonly here: boolean;
}

const idOf = (digest: string): string => digest.slice(0, 16);

async function goingOn(
  sql: Sql,
  personId: string,
  now: number,
): Promise<(Row & { stationId: string | null })[]> {
  const rows = await sql.all<Row & { stationId: string | null }>(
    `select ${columns}, (select station_id from registered_stations where id = registration_id) as "stationId"
     from sessions where person_id = ? and ended_at is null order by last_used_at desc, token_digest`,
    personId,
  );
  return rows.filter((row) => endOf(row) > now);
}

export async function sessionsOf(
  sql: Sql,
  personId: string,
  token: string | null,
  now: number,
): Promise<ListedSession[]> {
  const own = token === null ? null : digestOf(token);
  return (await goingOn(sql, personId, now)).map((row) => ({
    id: idOf(row.digest),
    beganAt: row.beganAt,
    lastUsedAt: row.lastUsedAt,
    endsAt: endOf(row),
    way: row.way ?? 'password',
    stationId: row.stationId,
    device: row.device,
    here: row.digest === own,
  }));
}

/** Ends one of a person's own. false: they have none of this name. */
export async function endOneOf(sql: Sql, personId: string, id: string, now: number): Promise<boolean> {
  const found = (await goingOn(sql, personId, now)).find(({ digest }) => idOf(digest) === id);
  if (found === undefined) return false;
  await sql.run('update sessions set ended_at = ? where token_digest = ?', now, found.digest);
  return true;
}

/** The second factor has just been proven in the session of the token; every other of the person ends. */
export async function keepOnlyProven(sql: Sql, personId: string, token: string, now: number): Promise<void> {
  const own = digestOf(token);
  await sql.run(
    'update sessions set ended_at = ? where person_id = ? and ended_at is null and token_digest <> ?',
    now,
    personId,
    own,
  );
  await sql.run("update sessions set way = 'password and code', limited = 0 where token_digest = ?", own);
}
