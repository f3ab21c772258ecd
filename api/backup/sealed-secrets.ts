import type Database from 'better-sqlite3';
import { tablesOf } from './table-digests.ts';

/** Secrets of a plant that nobody can use without its key, which is in no backup. */
export interface SealedSecrets {
  readonly authenticators: number;
  readonly webhooks: number;
}

/** A backup of an older version may not have these tables yet, or secrets of webhooks that were never sealed. */
export function sealedSecrets(database: Database.Database): SealedSecrets {
  const names = tablesOf(database).map(({ name }) => name);
  const count = (table: string): number =>
    names.includes(table)
      ? (database
          .prepare(`select count(*) from ${table} where secret like 'sealed.%'`)
          .pluck()
          .get() as number)
      : 0;
  return { authenticators: count('second_factors'), webhooks: count('webhook_secrets') };
}

/** What to do about them before the server starts; null: nothing is sealed. */
export function aboutTheKey({ authenticators, webhooks }: SealedSecrets, keyFile: string): string | null {
  const sealed = [
    ...(authenticators === 0 ? [] : [`the authenticators of ${counted(authenticators, 'person', 'people')}`]),
    ...(webhooks === 0 ? [] : [`the secrets of ${counted(webhooks, 'webhook', 'webhooks')}`]),
  ];
  if (sealed.length === 0) return null;
  const without = [
    ...(authenticators === 0
      ? []
      : [
          'these people cannot sign in with their authenticator: each needs a recovery code, or a reset by an administrator, and then sets it up anew',
        ]),
    ...(webhooks === 0 ? [] : ['nothing is sent by these webhooks until each has a new secret']),
  ];
  return (
    `Not in the backup: the key that opens ${sealed.join(' and ')}. Before the server starts, put the secrets.key of the plant at ${keyFile}, or name its place with SECRETS_KEY_FILE; a server that finds none makes a new one.\n` +
    `Without it ${without.join('; ')}.`
  );
}

const counted = (number: number, one: string, more: string): string =>
  `${number} ${number === 1 ? one : more}`;
