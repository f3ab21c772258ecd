import type { Sealing } from '../sealing.ts';
import type { Sql } from '../store/sql.ts';
import { NotDelivered } from './send-deliveries.ts';
import { isSecret, newSecret } from './webhook.ts';

/** How long messages also carry a signature by the secret before, so that the receiver can change over. */
const CHANGE_OVER_MILLISECONDS = 24 * 3_600_000;

const sealedFor = (recipientId: string): string => `webhook of ${recipientId}`;

/** Sets a new secret, and gives it: the only time that anybody sees it. */
export async function changeSecret(
  sql: Sql,
  sealing: Sealing,
  recipientId: string,
  given: string | undefined,
  now: number,
): Promise<string> {
  const secret = given ?? newSecret();
  await sql.run(
    `insert into webhook_secrets (recipient_id, secret) values (?, ?)
     on conflict (recipient_id) do update set previous = webhook_secrets.secret, previous_until = ?,
       secret = excluded.secret`,
    recipientId,
    sealing.seal(secret, sealedFor(recipientId)),
    now + CHANGE_OVER_MILLISECONDS,
  );
  return secret;
}

/** The secrets to sign with now, the newest first. */
export async function secretsOf(
  sql: Sql,
  sealing: Sealing,
  recipientId: string,
  now: number,
): Promise<string[]> {
  const row = await sql.one<{ secret: string; previous: string | null; until: number | null }>(
    'select secret, previous, previous_until as until from webhook_secrets where recipient_id = ?',
    recipientId,
  );
  if (row === null) return [];
  const valid = row.previous !== null && (row.until ?? 0) > now ? [row.secret, row.previous] : [row.secret];
  return valid.map((stored) => {
    // Earlier versions did not seal them.
    const secret = isSecret(stored) ? stored : sealing.open(stored, sealedFor(recipientId));
    if (secret !== null) return secret;
    throw new NotDelivered(
      'The secret to sign with was sealed with another key (SECRETS_KEY_FILE); make a new one, then send again.',
    );
  });
}

export async function signedRecipientIds(sql: Sql): Promise<string[]> {
  const rows = await sql.all<{ id: string }>(
    'select recipient_id as id from webhook_secrets order by recipient_id',
  );
  return rows.map(({ id }) => id);
}
