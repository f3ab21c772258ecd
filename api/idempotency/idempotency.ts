/**
 * The header Idempotency-Key (draft-ietf-httpapi-idempotency-key-header, from memory): a write that is sent again under
 * the same key is carried out once and answered as it was the first time.
 */
import { AsyncLocalStorage } from 'node:async_hooks';
import { createHash } from 'node:crypto';
import type { Clock } from '../clock.ts';
import { conflict, ProblemError, unacceptable } from '../problem.ts';
import type { Sql } from '../store/sql.ts';
import type { Store } from '../store/store.ts';

const IDEMPOTENCY_HEADER = 'Idempotency-Key';

/** How long an answer is kept. A key may be used for something else afterwards. */
const KEPT_MILLISECONDS = 24 * 3_600_000;
/** A write that has not ended by then was cut off with its process. */
const LONGEST_WRITE_MILLISECONDS = 60_000;

interface Underway {
  readonly who: string;
  readonly name: string;
  answerKept: boolean;
}
const underway = new AsyncLocalStorage<Underway>();

const keep = 'update idempotency_keys set answer = ? where who = ? and name = ?';

/**
 * Inside the transaction of a write whose result is its answer: the answer becomes durable with the write itself, so
 * that no crash comes in between. Does nothing where the sender gave no key.
 */
export async function keepAnswer(sql: Sql, answer: unknown): Promise<void> {
  const write = underway.getStore();
  if (write === undefined || write.answerKept || answer === undefined) return;
  await sql.run(keep, JSON.stringify(answer), write.who, write.name);
  write.answerKept = true;
}

/** A text of RFC 9651 in double quotes, as the draft asks, or the bare key, as many send it. */
function keyOf(header: string): string {
  const [, quoted, bare] =
    /^(?:"([\x20\x21\x23-\x5b\x5d-\x7e]{1,255})"|([\w.~:+/=-]{1,255}))$/.exec(header.trim()) ?? [];
  const key = quoted ?? bare;
  if (key !== undefined) return key;
  throw unacceptable(
    IDEMPOTENCY_HEADER,
    'must be a key of 1 to 255 characters in double quotes, such as "8e03978e-40d5-43e8-bc93-6894a57f9324"',
  );
}

export interface Idempotency {
  /** Carries `write` out, or gives the answer that it got before. `content`: what makes the request this one. */
  once<T>(request: Request, who: string, content: unknown, write: () => Promise<T>): Promise<T>;
}

export function createIdempotency({ store, clock }: { store: Store; clock: Clock }): Idempotency {
  /** null: the write is ours to carry out. */
  async function claim(who: string, name: string, fingerprint: Buffer): Promise<{ answer: string } | null> {
    const now = clock.now();
    return store.transaction(async ({ sql }) => {
      await sql.run('delete from idempotency_keys where at < ?', now - KEPT_MILLISECONDS);
      const claimed = await sql.one(
        `insert into idempotency_keys (who, name, fingerprint, at, claimed_until) values (?, ?, ?, ?, ?)
           on conflict (who, name) do nothing returning name`,
        who,
        name,
        fingerprint,
        now,
        now + LONGEST_WRITE_MILLISECONDS,
      );
      if (claimed !== null) return null;
      const found = await sql.one<{ fingerprint: Buffer; answer: string | null; claimedUntil: number }>(
        `select fingerprint, answer, claimed_until as "claimedUntil" from idempotency_keys
           where who = ? and name = ?`,
        who,
        name,
      );
      if (!fingerprint.equals(found!.fingerprint))
        throw new ProblemError(
          422,
          'Not acceptable as it stands',
          'This key was used for another request; give each write a key of its own.',
          [
            {
              field: IDEMPOTENCY_HEADER,
              message: 'was used for another request; give each write a key of its own',
            },
          ],
        );
      if (found!.answer !== null) return { answer: found!.answer };
      if (found!.claimedUntil > now)
        throw conflict(
          IDEMPOTENCY_HEADER,
          'The first request under this key is still under way; ask again in a moment.',
        );
      await sql.run(
        'update idempotency_keys set at = ?, claimed_until = ? where who = ? and name = ?',
        now,
        now + LONGEST_WRITE_MILLISECONDS,
        who,
        name,
      );
      return null;
    }, []);
  }

  return {
    async once(request, who, content, write) {
      const header = request.headers.get(IDEMPOTENCY_HEADER);
      if (header === null) return write();
      const name = keyOf(header);
      const fingerprint = createHash('sha256').update(JSON.stringify(content)).digest();
      const before = await claim(who, name, fingerprint);
      if (before !== null) return JSON.parse(before.answer);
      const mine: Underway = { who, name, answerKept: false };
      try {
        const answer = await underway.run(mine, write);
        if (!mine.answerKept)
          await store.transaction(({ sql }) => sql.run(keep, JSON.stringify(answer), who, name), []);
        return answer;
      } catch (error) {
        // Nothing was stored: the sender may mend the request and send it under the same key.
        if (!mine.answerKept)
          await store.transaction(
            ({ sql }) => sql.run('delete from idempotency_keys where who = ? and name = ?', who, name),
            [],
          );
        throw error;
      }
    },
  };
}
