/** Who at the provider is whom here. Only an administrator binds the two. */
import { randomUUID } from 'node:crypto';
import { isoTimeOrNull } from '../monitoring/payloads.ts';
import type { Identity } from '../schemas.ts';
import { type Sql, valuesOf } from '../store/sql.ts';

interface Row {
  readonly id: string;
  readonly issuer: string;
  readonly subject: string | null;
  readonly email: string | null;
  readonly name: string | null;
  readonly personId: string | null;
  readonly boundBy: string | null;
  readonly boundAt: number | null;
  readonly firstSeenAt: number | null;
}

/** Somebody as the provider describes them. */
export interface Subject {
  readonly issuer: string;
  readonly subject: string;
  /** Only where the provider has verified it. */
  readonly email: string | null;
  readonly name: string | null;
}

const columns = `id, issuer, subject, email, name, person_id as "personId", bound_by as "boundBy",
  bound_at as "boundAt", first_seen_at as "firstSeenAt"`;
const insert = `insert into identities ${valuesOf('id, issuer, subject, email, name, person_id, bound_by, bound_at, first_seen_at')}`;

export const identityPayload = (row: Row): Identity => ({
  id: row.id,
  email: row.email,
  name: row.name,
  personId: row.personId,
  boundBy: row.boundBy,
  boundAt: isoTimeOrNull(row.boundAt),
  firstSeenAt: isoTimeOrNull(row.firstSeenAt),
});

export const allIdentities = (sql: Sql, issuer: string): Promise<Row[]> =>
  sql.all(`select ${columns} from identities where issuer = ? order by first_seen_at, id`, issuer);

export const identityById = (sql: Sql, id: string): Promise<Row | null> =>
  sql.one(`select ${columns} from identities where id = ?`, id);

/** An address that may sign in as this person once; who does so is bound by subject from then on. */
export async function announce(
  sql: Sql,
  {
    issuer,
    email,
    personId,
    by,
    at,
  }: Record<'issuer' | 'email' | 'personId' | 'by', string> & { at: number },
): Promise<Row> {
  const id = randomUUID();
  await sql.run(insert, id, issuer, null, email.toLowerCase(), null, personId, by, at, null);
  return (await identityById(sql, id))!;
}

export const bind = (sql: Sql, id: string, personId: string | null, by: string, at: number): Promise<void> =>
  sql.run(
    'update identities set person_id = ?, bound_by = ?, bound_at = ? where id = ?',
    personId,
    by,
    at,
    id,
  );

/**
 * Finds somebody who came from the provider, and keeps them for the administrator to see where they are new. The same
 * person may come twice at once, through two nodes.
 */
export async function meet(sql: Sql, { issuer, subject, email, name }: Subject, now: number): Promise<Row> {
  const find = (): Promise<Row | null> =>
    sql.one(`select ${columns} from identities where issuer = ? and subject = ?`, issuer, subject);
  const address = email?.toLowerCase() ?? null;
  const known = await find();
  if (known !== null) return known;
  if (address !== null) {
    const announced = await sql.one<Row>(
      `update identities set subject = ?, name = ?, first_seen_at = ?
       where id = (select min(id) from identities where issuer = ? and email = ? and subject is null)
         and subject is null returning ${columns}`,
      subject,
      name,
      now,
      issuer,
      address,
    );
    if (announced !== null) return announced;
  }
  const unlessThere = `${insert} on conflict (issuer, subject) do nothing`;
  await sql.run(unlessThere, randomUUID(), issuer, subject, address, name, null, null, null, now);
  return (await find())!;
}
