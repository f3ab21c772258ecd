/** Links and codes that work once and not for long. Stored hashed, and marked as used in the same step as they work. */
import type { Sql } from '../store/sql.ts';
import { digestOf } from './tokens.ts';

/** What a token opens, and for whom: a person's secrets, a station, or (with no subject) the first administrator. */
type Purpose = 'first administrator' | 'choose secrets' | 'register station';

export interface OneTimeToken {
  readonly purpose: Purpose;
  readonly subjectId: string;
  readonly madeBy: string | null;
}

/** A new one takes the place of an earlier one for the same. */
export async function keepToken(
  sql: Sql,
  token: string,
  { purpose, subjectId, madeBy }: OneTimeToken,
  expiresAt: number,
): Promise<void> {
  await sql.run('delete from one_time_tokens where purpose = ? and subject_id = ?', purpose, subjectId);
  await sql.run(
    'insert into one_time_tokens (token_digest, purpose, subject_id, made_by, expires_at) values (?, ?, ?, ?, ?)',
    digestOf(token),
    purpose,
    subjectId,
    madeBy,
    expiresAt,
  );
}

/** Of links; a code for a station is typed at once. */
export const LINK_LASTS = 24 * 60 * 60_000;

const columns = 'purpose, subject_id as "subjectId", made_by as "madeBy"';

/** null: there is no such token, it was used, or it is too old; nobody is told which. */
export const findToken = (sql: Sql, token: string, now: number): Promise<OneTimeToken | null> =>
  sql.one(
    `select ${columns} from one_time_tokens where token_digest = ? and used_at is null and expires_at > ?`,
    digestOf(token),
    now,
  );

export const useToken = (sql: Sql, token: string, now: number): Promise<OneTimeToken | null> =>
  sql.one(
    `update one_time_tokens set used_at = ? where token_digest = ? and used_at is null and expires_at > ?
     returning ${columns}`,
    now,
    digestOf(token),
    now,
  );

/** Whether there is one that can still be used. */
export const isOpen = async (
  sql: Sql,
  { purpose, subjectId }: Pick<OneTimeToken, 'purpose' | 'subjectId'>,
  now: number,
): Promise<boolean> =>
  (await sql.one(
    'select 1 as one from one_time_tokens where purpose = ? and subject_id = ? and used_at is null and expires_at > ?',
    purpose,
    subjectId,
    now,
  )) !== null;

export const dropTokensFor = (sql: Sql, subjectId: string): Promise<void> =>
  sql.run('delete from one_time_tokens where subject_id = ?', subjectId);
