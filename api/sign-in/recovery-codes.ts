/** Codes to print, for when the authenticator is lost: each works once. Kept like passwords, for they are short. */
import type { Sql } from '../store/sql.ts';
import { hashOf, matches } from './secrets.ts';
import { newCode, tidyCode } from './tokens.ts';

const HOW_MANY = 10;

export interface PrintedCodes {
  readonly codes: readonly string[];
  readonly hashes: readonly string[];
}

/** Hashed outside of any transaction: it takes a while. */
export async function newRecoveryCodes(): Promise<PrintedCodes> {
  const codes = Array.from({ length: HOW_MANY }, newCode);
  return { codes, hashes: await Promise.all(codes.map(hashOf)) };
}

export async function dropRecoveryCodes(sql: Sql, personId: string): Promise<void> {
  await sql.run('delete from recovery_codes where person_id = ?', personId);
}

/** In place of those before. */
export async function keepRecoveryCodes(sql: Sql, personId: string, { hashes }: PrintedCodes): Promise<void> {
  await dropRecoveryCodes(sql, personId);
  for (const hash of hashes)
    await sql.run('insert into recovery_codes (hash, person_id) values (?, ?)', hash, personId);
}

const unused = (sql: Sql, personId: string): Promise<{ hash: string }[]> =>
  sql.all('select hash from recovery_codes where person_id = ? and used_at is null', personId);

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
