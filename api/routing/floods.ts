import { isoTime, isoTimeOrNull } from '../monitoring/payloads.ts';
import type { Flood } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import type { Period } from '../store/store.ts';
import { FLOOD_WINDOW, floodPeriods } from './flood.ts';

/** When alarms called on the board: raised, or raised again. */
async function callTimes(sql: Sql, { from, to }: Period): Promise<number[]> {
  const rows = await sql.all<{ at: number }>(
    `select at from alarm_entries where kind in ('raised', 'raised-again') and at >= ? and at <= ? order by at`,
    from,
    to,
  );
  return rows.map(({ at }) => at);
}

/** A flood that reaches into the period may have begun this long before it. */
const BEFORE = 12 * 3_600_000;

/** Floods of the board and of each person that lasted at some time of the period, oldest first. */
export async function floodsIn(sql: Sql, { from, to }: Period): Promise<Flood[]> {
  const since = from - BEFORE;
  const perPerson = new Map<string | null, number[]>([[null, await callTimes(sql, { from: since, to })]]);
  const told = await sql.all<{ personId: string; at: number }>(
    'select person_id as "personId", at from told_people where at >= ? and at <= ? order by at',
    since,
    to,
  );
  for (const { personId, at } of told) {
    const times = perPerson.get(personId);
    if (times === undefined) perPerson.set(personId, [at]);
    else times.push(at);
  }
  return [...perPerson]
    .flatMap(([personId, times]) => floodPeriods(times, to).map((period) => ({ personId, ...period })))
    .filter((period) => period.to === null || period.to >= from)
    .sort((a, b) => a.from - b.from)
    .map(({ personId, from, to, alarms }) => ({
      personId,
      from: isoTime(from),
      to: isoTimeOrNull(to),
      alarms,
    }));
}

/** Those that last now. */
export const floodsNow = async (sql: Sql, now: number): Promise<Flood[]> =>
  (await floodsIn(sql, { from: now - FLOOD_WINDOW, to: now })).filter(({ to }) => to === null);
