/**
 * Everything that leaves Runtrue by itself is a row first, written in the same transaction as what it tells of, and
 * sent after the commit: a process that dies in between loses nothing. A message may arrive twice, never not at all;
 * its id stays the same, so that who receives it can tell.
 */
import { randomUUID } from 'node:crypto';
import type { Sql } from '../store/sql.ts';

export type DeliveryDoor = 'mail' | 'webhook' | 'mqtt';
export type DeliveryState = 'waiting' | 'sent' | 'dead';

export interface NewDelivery {
  readonly door: DeliveryDoor;
  /** null: nobody in particular, such as the state of a stream. */
  readonly recipientId: string | null;
  /** Messages on one topic go out in the order in which they were written; null: in any order. */
  readonly topic: string | null;
  /** What people see in lists; the subject of a mail. */
  readonly subject: string;
  readonly body: string;
}

export interface DeliveryRow extends NewDelivery {
  readonly no: number;
  readonly id: string;
  readonly createdAt: number;
  readonly giveUpAt: number;
  readonly dueAt: number;
  readonly attempts: number;
  readonly state: DeliveryState;
  /** Why the last attempt failed. */
  readonly problem: string | null;
  readonly finishedAt: number | null;
}

const HOUR = 3_600_000;
/** A receiver that stays away longer than this has to be looked after by a person. */
const GIVE_UP_MILLISECONDS: Record<DeliveryDoor, number> = {
  mail: 24 * HOUR,
  webhook: 24 * HOUR,
  // One broker for everything: when it is back, the states of all streams have to come back with it.
  mqtt: 7 * 24 * HOUR,
};

const columns = `no, id, door, recipient_id as "recipientId", topic, subject, body, created_at as "createdAt",
  give_up_at as "giveUpAt", due_at as "dueAt", attempts, state, problem, finished_at as "finishedAt"`;

/** Inside the transaction of what it tells of. */
export async function addDelivery(sql: Sql, delivery: NewDelivery, now: number): Promise<string> {
  const id = randomUUID();
  const { door, recipientId, topic, subject, body } = delivery;
  await sql.run(
    `insert into deliveries (id, door, recipient_id, topic, subject, body, created_at, give_up_at, due_at,
      claimed_until, attempts, state) values (?, ?, ?, ?, ?, ?, ?, ?, ?, 0, 0, 'waiting')`,
    id,
    door,
    recipientId,
    topic,
    subject,
    body,
    now,
    now + GIVE_UP_MILLISECONDS[door],
    now,
  );
  return id;
}

// On one topic only the oldest waiting row may go: otherwise an older state could arrive last.
const dueRows = `select no from deliveries as mine where state = 'waiting' and door = ? and due_at <= ? and claimed_until < ?
  and (topic is null or not exists (
    select 1 from deliveries as older
    where older.topic = mine.topic and older.state = 'waiting' and older.no < mine.no))
  order by no limit ?`;

export async function hasDue(sql: Sql, door: DeliveryDoor, now: number): Promise<boolean> {
  return (await sql.one(dueRows, door, now, now, 1)) !== null;
}

/** Takes rows for itself until a time: of several nodes that ask at once only one gets each. */
export function claimDue(
  sql: Sql,
  door: DeliveryDoor,
  now: number,
  until: number,
  limit: number,
): Promise<DeliveryRow[]> {
  return sql.all<DeliveryRow>(
    `update deliveries set claimed_until = ? where no in (${dueRows}) and state = 'waiting' and claimed_until < ?
     returning ${columns}`,
    until,
    door,
    now,
    now,
    limit,
    now,
  );
}

export async function markSent(sql: Sql, no: number, now: number): Promise<void> {
  await sql.run(
    `update deliveries set state = 'sent', attempts = attempts + 1, problem = null, finished_at = ?,
      claimed_until = 0 where no = ?`,
    now,
    no,
  );
}

/** `again` says when the next attempt is due; null gives up. */
export async function markFailed(
  sql: Sql,
  no: number,
  problem: string,
  again: number | null,
  now: number,
): Promise<void> {
  await sql.run(
    `update deliveries set attempts = attempts + 1, problem = ?, claimed_until = 0, state = ?, due_at = ?,
      finished_at = ? where no = ? and state = 'waiting'`,
    problem.slice(0, 1000),
    again === null ? 'dead' : 'waiting',
    again ?? now,
    again === null ? now : null,
    no,
  );
}

/** The broker is back: what waits for it need not wait out its delay. */
export async function hurry(sql: Sql, door: DeliveryDoor, now: number): Promise<void> {
  await sql.run(
    `update deliveries set due_at = ? where state = 'waiting' and door = ? and due_at > ?`,
    now,
    door,
    now,
  );
}

/** Has something newer been written for the same topic? Then this one is no longer how things are. */
export async function isOvertaken(sql: Sql, { topic, no }: DeliveryRow): Promise<boolean> {
  return (await sql.one('select 1 from deliveries where topic = ? and no > ? limit 1', topic, no)) !== null;
}

export const deliveriesOf = (sql: Sql, state: DeliveryState, limit: number): Promise<DeliveryRow[]> =>
  sql.all<DeliveryRow>(
    `select ${columns} from deliveries where state = ? order by no desc limit ?`,
    state,
    limit,
  );

export async function deliveryCounts(sql: Sql): Promise<Record<DeliveryState, number>> {
  const rows = await sql.all<{ state: DeliveryState; count: number }>(
    'select state, count(*) as count from deliveries group by state',
  );
  const counts = { waiting: 0, sent: 0, dead: 0 };
  for (const { state, count } of rows) counts[state] = count;
  return counts;
}

export async function deadCount(sql: Sql): Promise<number> {
  const row = await sql.one<{ count: number }>(
    `select count(*) as count from deliveries where state = 'dead'`,
  );
  return row?.count ?? 0;
}

export async function forgetSent(sql: Sql, before: number): Promise<void> {
  await sql.run(`delete from deliveries where state = 'sent' and finished_at < ?`, before);
}

/** Not tried after all: the row may be taken again at once. */
export async function release(sql: Sql, no: number): Promise<void> {
  await sql.run(`update deliveries set claimed_until = 0 where no = ? and state = 'waiting'`, no);
}

/** After a start where nobody else sends: what the process before had begun is begun anew, at once. */
export async function releaseAll(sql: Sql): Promise<void> {
  await sql.run(`update deliveries set claimed_until = 0 where state = 'waiting' and claimed_until > 0`);
}

/** A row that was given up waits again, with a time of its own to give up. Null where there is no such row. */
export async function sendAgain(sql: Sql, id: string, now: number): Promise<DeliveryRow | null> {
  const row = await deliveryById(sql, id);
  if (row === null) return null;
  return sql.one<DeliveryRow>(
    `update deliveries set state = 'waiting', due_at = ?, give_up_at = ?, claimed_until = 0, finished_at = null
     where id = ? and state = 'dead' returning ${columns}`,
    now,
    now + GIVE_UP_MILLISECONDS[row.door],
    id,
  );
}

export const deliveryById = (sql: Sql, id: string): Promise<DeliveryRow | null> =>
  sql.one<DeliveryRow>(`select ${columns} from deliveries where id = ?`, id);
