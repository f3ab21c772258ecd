/** Browsers that stand at a station: they read without a person, and people sign in there with a short PIN. */
import type { Sql } from '../store/sql.ts';
import { digestOf, newToken } from './tokens.ts';

export interface Registration {
  readonly id: string;
  readonly stationId: string;
}

export interface ListedRegistration extends Registration {
  readonly registeredBy: string;
  readonly registeredAt: number;
}

export async function registerStation(sql: Sql, registration: ListedRegistration): Promise<string> {
  const token = newToken();
  await sql.run(
    'insert into registered_stations (token_digest, id, station_id, registered_by, registered_at) values (?, ?, ?, ?, ?)',
    digestOf(token),
    registration.id,
    registration.stationId,
    registration.registeredBy,
    registration.registeredAt,
  );
  return token;
}

export const registrationOf = (sql: Sql, token: string): Promise<Registration | null> =>
  sql.one(
    'select id, station_id as "stationId" from registered_stations where token_digest = ? and withdrawn_at is null',
    digestOf(token),
  );

export const registrations = (sql: Sql): Promise<ListedRegistration[]> =>
  sql.all(
    `select id, station_id as "stationId", registered_by as "registeredBy", registered_at as "registeredAt"
     from registered_stations where withdrawn_at is null order by registered_at desc, id`,
  );

/** null: there is none to withdraw. */
export async function withdrawRegistration(sql: Sql, id: string, now: number): Promise<Registration | null> {
  return sql.one(
    `update registered_stations set withdrawn_at = ? where id = ? and withdrawn_at is null
     returning id, station_id as "stationId"`,
    now,
    id,
  );
}
