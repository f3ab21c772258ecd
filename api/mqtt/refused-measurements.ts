/** Measurements that came by MQTT and could not be taken in: kept, shown, and taken in later where a person mends why. */
import { createHash } from 'node:crypto';
import type { Problem } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';

/** What is kept of a message that is far longer than any sample. */
const MOST_KEPT = 100_000;

export interface RefusedRow {
  readonly no: number;
  readonly at: number;
  readonly topic: string;
  readonly personId: string | null;
  readonly payload: string;
  readonly problem: string;
  readonly acceptedAt: number | null;
}

const columns = `no, at, topic, person_id as "personId", payload, problem, accepted_at as "acceptedAt"`;

/** Once for each message, however often it comes. False where it was kept before. */
export async function keepRefused(
  sql: Sql,
  refused: Pick<RefusedRow, 'at' | 'topic' | 'personId' | 'payload'> & { readonly problem: Problem },
): Promise<boolean> {
  const { at, topic, personId, payload, problem } = refused;
  const digest = createHash('sha256').update(`${topic}\n${payload}`).digest('hex');
  const row = await sql.one(
    `insert into refused_measurements (digest, at, topic, person_id, payload, problem) values (?, ?, ?, ?, ?, ?)
     on conflict do nothing returning no`,
    digest,
    at,
    topic,
    personId,
    payload.slice(0, MOST_KEPT).replaceAll('\0', '\uFFFD'),
    JSON.stringify(problem),
  );
  return row !== null;
}

/** Newest first; those that were taken in later only on request. */
export const refusedMeasurements = (sql: Sql, limit: number, withAccepted: boolean): Promise<RefusedRow[]> =>
  sql.all<RefusedRow>(
    `select ${columns} from refused_measurements ${withAccepted ? '' : 'where accepted_at is null'}
     order by no desc limit ?`,
    limit,
  );

export const refusedMeasurement = (sql: Sql, no: number): Promise<RefusedRow | null> =>
  sql.one<RefusedRow>(`select ${columns} from refused_measurements where no = ?`, no);

export async function markAccepted(sql: Sql, no: number, now: number): Promise<void> {
  await sql.run(
    'update refused_measurements set accepted_at = ? where no = ? and accepted_at is null',
    now,
    no,
  );
}

export async function refusedCount(sql: Sql): Promise<number> {
  const row = await sql.one<{ count: number }>(
    'select count(*) as count from refused_measurements where accepted_at is null',
  );
  return row?.count ?? 0;
}
