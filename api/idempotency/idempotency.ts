/**
 * The header Idempotency-Key (draft-ietf-httpapi-idempotency-key-header, from memory): a write that is sent again under
 * the same key is carried out once and answered as it was the first time. The key and the result are rows of the very
 * transaction that does the work: both are stored or neither, whenever the server dies.
 */
import { createHash } from 'node:crypto';
import { ProblemError, unacceptable } from '../problem.ts';
import type { Sql } from '../store/sql.ts';

const IDEMPOTENCY_HEADER = 'Idempotency-Key';

/** How long a result is kept. A key may be used for something else afterwards. */
const KEPT_MILLISECONDS = 24 * 3_600_000;

/** What a sender calls one write of theirs. */
export interface WriteKey {
  /** Keys of different senders have nothing to do with each other. */
  readonly who: string;
  readonly name: string;
  /** Of everything that makes the request this one. */
  readonly fingerprint: Buffer;
  readonly at: number;
}

/** A text of RFC 9651 in double quotes, as the draft asks, or the bare key, as many send it. */
function nameIn(header: string): string {
  const [, quoted, bare] =
    /^(?:"([\x20\x21\x23-\x5b\x5d-\x7e]{1,255})"|([\w.~:+/=-]{1,255}))$/.exec(header.trim()) ?? [];
  const name = quoted ?? bare;
  if (name !== undefined) return name;
  throw unacceptable(
    IDEMPOTENCY_HEADER,
    'must be a key of 1 to 255 characters in double quotes, such as "8e03978e-40d5-43e8-bc93-6894a57f9324"',
  );
}

/** The key of a request; undefined where its sender gave none. */
export function writeKey(
  headers: Headers,
  who: string,
  content: readonly unknown[],
  at: number,
): WriteKey | undefined {
  const header = headers.get(IDEMPOTENCY_HEADER);
  if (header === null) return undefined;
  const fingerprint = createHash('sha256').update(JSON.stringify(content)).digest();
  return { who, name: nameIn(header), fingerprint, at };
}

/** For a write that is not done by `once`: its answer shows a secret, which is not kept, or it has an id of its own. */
export function refuseKey(headers: Headers): void {
  if (!headers.has(IDEMPOTENCY_HEADER)) return;
  throw unacceptable(IDEMPOTENCY_HEADER, 'is not taken at this address; leave the header out');
}

// A key that is too old to count is taken over. Whoever comes while another transaction holds the key waits for it.
const take = `insert into idempotency_keys (who, name, fingerprint, at) values (?, ?, ?, ?)
  on conflict (who, name) do update set fingerprint = excluded.fingerprint, at = excluded.at, answer = null
    where idempotency_keys.at < ? returning name`;
const keep = 'update idempotency_keys set answer = ? where who = ? and name = ?';
const find = 'select fingerprint, answer from idempotency_keys where who = ? and name = ? and at >= ?';

/**
 * Does `work`, once under a key: a transaction that comes again with it gets what the first one's work gave, as it
 * was in JSON, and does nothing. Call it first of all in the transaction.
 */
export async function once<T>(sql: Sql, key: WriteKey | undefined, work: () => Promise<T>): Promise<T> {
  if (key === undefined) return work();
  const { who, name, fingerprint, at } = key;
  const taken = await sql.one(take, who, name, fingerprint, at, at - KEPT_MILLISECONDS);
  if (taken === null) return (await resultOf<T>(sql, key))!.result;
  const result = await work();
  await sql.run(keep, JSON.stringify(result ?? null), who, name);
  return result;
}

/** What was done under the key before; null where nothing was. */
export async function resultOf<T>(sql: Sql, key: WriteKey): Promise<{ readonly result: T } | null> {
  const { who, name, fingerprint, at } = key;
  const found = await sql.one<{ fingerprint: Buffer; answer: string }>(
    find,
    who,
    name,
    at - KEPT_MILLISECONDS,
  );
  if (found === null) return null;
  if (fingerprint.equals(found.fingerprint)) return { result: JSON.parse(found.answer) };
  const message = 'was used for another request; give each write a key of its own';
  throw new ProblemError(422, 'Not acceptable as it stands', `The header ${IDEMPOTENCY_HEADER} ${message}.`, [
    { field: IDEMPOTENCY_HEADER, message },
  ]);
}

/** Removes what is too old to count. In a transaction of its own: rows that several remove at once make them wait. */
export const forgetResults = (sql: Sql, now: number): Promise<void> =>
  sql.run('delete from idempotency_keys where at < ?', now - KEPT_MILLISECONDS);
