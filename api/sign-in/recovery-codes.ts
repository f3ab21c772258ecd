/** Codes to print, for when the authenticator is lost: each works once. Kept like passwords, for they are short. */
import type { Sql } from '../store/sql.ts';
import { matches } from './secrets.ts';
import { newCode, tidyCode } from './tokens.ts';

const HOW_MANY = 10;

export const newRecoveryCodes = (): string[] => Array.from({ length: HOW_MANY }, newCode);

export async function dropRecoveryCodes(sql: Sql, personId: string): Promise<void> {
  await sql.run('delete from recovery_codes where person_id = ?', personId);
}

/** They count once activated. `hashes`: made outside of any transaction, for that takes a while. */
export async function keepRecoveryCodes(
  sql: Sql,
  personId: string,
  hashes: readonly string[],
): Promise<void> {
  await sql.run('delete from recovery_codes where person_id = ? and pending = 1', personId);
  for (const hash of hashes)
    await sql.run('insert into recovery_codes (hash, person_id, pending) values (?, ?, 1)', hash, personId);
}

/** In place of those before. */
export async function activateRecoveryCodes(sql: Sql, personId: string): Promise<void> {
  await sql.run('delete from recovery_codes where person_id = ? and pending = 0', personId);
  await sql.run('update recovery_codes set pending = 0 where person_id = ?', personId);
}

const unused = (sql: Sql, personId: string): Promise<{ hash: string }[]> =>
  sql.all(
    'select hash from recovery_codes where person_id = ? and pending = 0 and used_at is null',
    personId,
  );

export const recoveryCodesLeft = async (sql: Sql, personId: string): Promise<number> =>
  (await unused(sql, personId)).length;

/** The hash that belongs to what was typed. */
export async function findRecoveryCode(sql: Sql, personId: string, typed: string): Promise<string | null> {
  for (const { hash } of await unused(sql, personId)) if (await matches(hash, tidyCode(typed))) return hash;
  return null;
}

/** false: somebody was faster. */
export async function useRecoveryCode(sql: Sql, hash: string, now: number): Promise<boolean> {
  const used = await sql.one(
    'update recovery_codes set used_at = ? where hash = ? and used_at is null returning hash',
    now,
    hash,
  );
  return used !== null;
}
