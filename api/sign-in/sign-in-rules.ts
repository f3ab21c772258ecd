/** What a plant decides about signing in: which roles a password alone is not enough for, away from the stations. */
import { Role } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';

/** Those who say who may do what, and those who release parts. */
const usually: readonly Role[] = ['administrator', 'quality-manager'];
const QUESTION = 'roles with a second factor';

export async function rolesWithSecondFactor(sql: Sql): Promise<readonly Role[]> {
  const row = await sql.one<{ answer: string }>('select answer from sign_in_rules where name = ?', QUESTION);
  return row === null ? usually : Role.array().parse(JSON.parse(row.answer));
}

export const setRolesWithSecondFactor = (sql: Sql, roles: readonly Role[]): Promise<void> =>
  sql.run(
    'insert into sign_in_rules (name, answer) values (?, ?) on conflict (name) do update set answer = excluded.answer',
    QUESTION,
    JSON.stringify(roles),
  );
