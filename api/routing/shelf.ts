/**
 * Shelving after IEC 62682 (from memory): a person takes an alarm off the list of what calls, for a stated reason and
 * a bounded time. It stays visible as shelved, and comes back by itself. It says nothing about the parts.
 */

import { plantTime } from '../plant-time.ts';
import { conflict, unknown } from '../problem.ts';
import type { ShelvingSubmission, UnshelvingSubmission } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import type { AlarmEntryRow, AlarmRow, StoreTransaction } from '../store/store.ts';
import { routingRecords } from './routing-records.ts';
import { severityOf } from './severity.ts';

export interface ShelvedRow {
  readonly alarmId: number;
  readonly personId: string;
  readonly reason: string;
  readonly since: number;
  readonly until: number;
}

const columns = `alarm_id as "alarmId", person_id as "personId", reason, since, until`;

/** As it is now: when its time is over it counts as back, whether or not the entry has been written yet. */
export const shelvedNow = (sql: Sql, alarmId: number, now: number): Promise<ShelvedRow | null> =>
  sql.one<ShelvedRow>(`select ${columns} from shelved_alarms where alarm_id = ? and until > ?`, alarmId, now);

const entry = (alarmId: number, changes: Partial<AlarmEntryRow>): AlarmEntryRow => ({
  id: null,
  alarmId,
  kind: 'unshelved',
  at: 0,
  personId: null,
  text: '',
  decision: null,
  countedParts: null,
  secondPersonId: null,
  containment: null,
  ...changes,
});

/** The alarm; null where the entry is stored already. */
async function alarmFor(
  store: StoreTransaction,
  alarmId: number,
  { id }: { readonly id: string },
  kind: AlarmEntryRow['kind'],
): Promise<AlarmRow | null> {
  const alarm = await store.alarm(alarmId);
  if (alarm === null) throw unknown('alarm', alarmId, 'id');
  const stored = await store.alarmEntry(id);
  if (stored === null) return alarm;
  if (stored.alarmId === alarmId && stored.kind === kind) return null;
  throw conflict('id', `Another entry with the id ${id} is stored; give each entry an id of its own.`);
}

/** Gives the alarm that changed; null where it was shelved by this very submission before. */
export async function shelve(
  store: StoreTransaction,
  alarmId: number,
  { id, minutes, reason }: ShelvingSubmission,
  personId: string,
  now: number,
): Promise<AlarmRow | null> {
  const alarm = await alarmFor(store, alarmId, { id: id.toLowerCase() }, 'shelved');
  if (alarm === null) return null;
  if (alarm.closedAt !== null) throw conflict('id', 'The alarm is closed; there is nothing to shelve.');
  const plant = await store.plantModel();
  const { safetyCharacteristicIds } = await routingRecords(store.sql);
  if ((await severityOf(store.sql, plant, safetyCharacteristicIds, alarm)) === 'safety') {
    throw conflict('id', 'This alarm is about safety; it cannot be shelved.');
  }
  const earlier = await shelvedNow(store.sql, alarmId, now);
  if (earlier !== null) {
    const name = plant.people.find((person) => person.id === earlier.personId)?.name ?? earlier.personId;
    throw conflict('id', `${name} has shelved it already; take it back first, then shelve it anew.`);
  }
  const until = now + minutes * 60_000;
  await store.sql.run(
    `insert into shelved_alarms (alarm_id, person_id, reason, since, until) values (?, ?, ?, ?, ?)
     on conflict (alarm_id) do update set person_id = excluded.person_id, reason = excluded.reason,
       since = excluded.since, until = excluded.until`,
    alarmId,
    personId,
    reason,
    now,
    until,
  );
  const text = `Until ${plantTime(until, plant.plant.utcOffsetMinutes)}: ${reason}`;
  await store.addAlarmEntry(
    entry(alarmId, { id: id.toLowerCase(), kind: 'shelved', at: now, personId, text }),
    alarm,
  );
  return alarm;
}

/** A person takes it back before its time is over. */
export async function unshelve(
  store: StoreTransaction,
  alarmId: number,
  { id, reason }: UnshelvingSubmission,
  personId: string,
  now: number,
): Promise<AlarmRow | null> {
  const alarm = await alarmFor(store, alarmId, { id: id.toLowerCase() }, 'unshelved');
  if (alarm === null) return null;
  if (!(await takeOff(store.sql, alarmId))) throw conflict('id', 'The alarm is not shelved.');
  await store.addAlarmEntry(entry(alarmId, { id: id.toLowerCase(), at: now, personId, text: reason }), alarm);
  return alarm;
}

/** Brings an alarm back because of what happened, not because a person said so. False where it was not shelved. */
export async function bringBack(
  store: StoreTransaction,
  alarm: AlarmRow,
  because: string,
  now: number,
): Promise<boolean> {
  if (!(await takeOff(store.sql, alarm.id))) return false;
  await store.addAlarmEntry(entry(alarm.id, { at: now, text: because }), alarm);
  return true;
}

/** Only one of several nodes gets the row. */
async function takeOff(sql: Sql, alarmId: number): Promise<boolean> {
  const row = await sql.one('delete from shelved_alarms where alarm_id = ? returning alarm_id', alarmId);
  return row !== null;
}

export const overdueOnShelf = (sql: Sql, now: number): Promise<{ alarmId: number; streamId: string }[]> =>
  sql.all(
    `select alarm_id as "alarmId", stream_id as "streamId"
     from shelved_alarms join alarms on alarms.id = shelved_alarms.alarm_id
     where until <= ? order by until limit 100`,
    now,
  );
