/** How many alarms came, how they were answered, and where they came from (measures after IEC 62682, from memory). */
import { isoTime, isoTimeOrNull } from '../monitoring/payloads.ts';
import { stationOf, streamOf } from '../plant-lookup.ts';
import type { AlarmReport, Flood, PlantModel, Severity } from '../schemas.ts';
import type { Period, StoreReads } from '../store/store.ts';
import { floodsIn } from './floods.ts';
import { type RoutingRecords, routingRecords } from './routing-records.ts';
import { severities } from './severity.ts';
import { isInShift } from './shift-at.ts';

/** An alarm that called: when it was raised, or raised again. */
export interface AlarmCall {
  readonly alarmId: number;
  readonly calledAt: number;
  readonly streamId: string;
  readonly modelId: string;
  readonly lineId: string;
  /** null: outside every shift. */
  readonly shiftId: string | null;
  readonly severity: Severity;
  readonly sentence: string;
  /** null: nobody has, until the alarm called again or until now. */
  readonly acknowledgedAt: number | null;
  /** When the condition was gone or the alarm was closed; null: it stands, or called again. */
  readonly endedAt: number | null;
}

const HOUR = 3_600_000;
const MINUTE = 60_000;
const MOST = 10;

interface EntryRow {
  readonly alarmId: number;
  readonly kind: string;
  readonly at: number;
  readonly text: string;
  readonly streamId: string;
  readonly modelId: string;
  readonly isOutside: number;
}

/** All calls of a period, oldest first. */
export async function alarmCalls(store: StoreReads, period: Period): Promise<AlarmCall[]> {
  const plant = await store.plantModel();
  const routing = await routingRecords(store.sql);
  // What answers a call may come after the period.
  const entries = await store.sql.all<EntryRow>(
    `select entries.alarm_id as "alarmId", entries.kind, entries.at, entries.text,
       alarms.stream_id as "streamId", alarms.model_id as "modelId",
       case when exists (select 1 from outside_samples where outside_samples.alarm_id = alarms.id)
         then 1 else 0 end as "isOutside"
     from alarm_entries as entries join alarms on alarms.id = entries.alarm_id
     where entries.alarm_id in (select alarm_id from alarm_entries
         where kind in ('raised', 'raised-again') and at >= ? and at <= ?)
       and entries.kind in ('raised', 'raised-again', 'acknowledged', 'returned-to-normal', 'closed')
     order by entries.alarm_id, entries.no`,
    period.from,
    period.to,
  );
  const calls: (AlarmCall & { acknowledgedAt: number | null; endedAt: number | null })[] = [];
  for (const entry of entries) {
    const { alarmId, kind, at } = entry;
    const last = calls.at(-1);
    if (kind === 'raised' || kind === 'raised-again') {
      calls.push(callOf(entry, plant, routing));
    } else if (last !== undefined && last.alarmId === alarmId) {
      if (kind === 'acknowledged') last.acknowledgedAt ??= at;
      else last.endedAt ??= at;
    }
  }
  return calls
    .filter(({ calledAt }) => calledAt >= period.from && calledAt <= period.to)
    .sort((a, b) => a.calledAt - b.calledAt || a.alarmId - b.alarmId);
}

function callOf(entry: EntryRow, plant: PlantModel, { shifts, safetyCharacteristicIds }: RoutingRecords) {
  const { alarmId, at, text, streamId, modelId, isOutside } = entry;
  const stream = streamOf(plant, streamId, 'streamId');
  const { lineId } = stationOf(plant, stream.stationId, 'stationId');
  const isSafety = safetyCharacteristicIds.includes(stream.characteristicId);
  const severity: Severity = isSafety ? 'safety' : isOutside ? 'product' : 'process';
  const shift = shifts.find((candidate) => isInShift(candidate, at, plant.plant.utcOffsetMinutes));
  return {
    alarmId,
    calledAt: at,
    streamId,
    modelId,
    lineId,
    shiftId: shift?.id ?? null,
    severity,
    sentence: text,
    acknowledgedAt: null as number | null,
    endedAt: null as number | null,
  };
}

/** Counts by what `key` gives, most first. */
function tally<T>(calls: readonly AlarmCall[], key: (call: AlarmCall) => T): { id: T; alarms: number }[] {
  const counts = new Map<T, number>();
  for (const call of calls) counts.set(key(call), (counts.get(key(call)) ?? 0) + 1);
  return [...counts].map(([id, alarms]) => ({ id, alarms })).sort((a, b) => b.alarms - a.alarms);
}

export async function alarmReport(
  store: StoreReads,
  period: Period,
  withinMinutes: number,
  now: number,
): Promise<AlarmReport> {
  const { plant } = await store.plantModel();
  const calls = await alarmCalls(store, period);
  const until = Math.min(period.to, now);
  const hours = Math.max(until - period.from, 1) / HOUR;
  const offset = plant.utcOffsetMinutes * MINUTE;
  const hourOf = ({ calledAt }: AlarmCall) => Math.floor((calledAt + offset) / HOUR) * HOUR - offset;
  const streams = tally(calls, ({ streamId }) => streamId);
  const floods = await floodsIn(store.sql, { from: period.from, to: until });
  const shelvings = await store.sql.one<{ count: number }>(
    `select count(*) as count from alarm_entries where kind = 'shelved' and at >= ? and at <= ?`,
    period.from,
    period.to,
  );
  return {
    from: isoTime(period.from),
    to: isoTime(period.to),
    alarms: calls.length,
    alarmsPerHour: calls.length / hours,
    hours: tally(calls, hourOf)
      .sort((a, b) => a.id - b.id)
      .map(({ id, alarms }) => ({ from: isoTime(id), alarms })),
    shifts: tally(calls, ({ shiftId }) => shiftId ?? 'outside'),
    lines: tally(calls, ({ lineId }) => lineId),
    streams,
    severities: severities.map((severity) => ({
      severity,
      alarms: calls.filter((call) => call.severity === severity).length,
    })),
    acknowledged: acknowledgedOf(calls, withinMinutes, now),
    longestStanding: calls
      .map((call) => ({ call, minutes: ((call.endedAt ?? now) - call.calledAt) / MINUTE }))
      .sort((a, b) => b.minutes - a.minutes)
      .slice(0, MOST)
      .map(({ call: { alarmId, streamId, calledAt, endedAt, sentence }, minutes }) => ({
        alarmId,
        streamId,
        raisedAt: isoTime(calledAt),
        endedAt: isoTimeOrNull(endedAt),
        minutes,
        sentence,
      })),
    mostFrequent: streams
      .slice(0, MOST)
      .map(({ id, alarms }) => ({ streamId: id, alarms, share: alarms / calls.length })),
    floods,
    timeInFlood: timeInFlood(floods, period.from, until),
    shelvings: shelvings?.count ?? 0,
  };
}

/** Of the board, where every alarm comes; the standard asks for less than 1 % (from memory). */
function timeInFlood(floods: readonly Flood[], from: number, to: number): number {
  const milliseconds = floods
    .filter(({ personId }) => personId === null)
    .map((flood) => {
      const end = flood.to === null ? to : Date.parse(flood.to);
      return Math.max(0, Math.min(end, to) - Math.max(Date.parse(flood.from), from));
    });
  return Math.min(1, milliseconds.reduce((sum, one) => sum + one, 0) / Math.max(to - from, 1));
}

function acknowledgedOf(
  calls: readonly AlarmCall[],
  withinMinutes: number,
  now: number,
): AlarmReport['acknowledged'] {
  const limit = withinMinutes * MINUTE;
  let [inTime, late, waiting] = [0, 0, 0];
  for (const { calledAt, acknowledgedAt } of calls) {
    if (acknowledgedAt !== null && acknowledgedAt - calledAt <= limit) inTime += 1;
    else if (acknowledgedAt !== null || now - calledAt > limit) late += 1;
    else waiting += 1;
  }
  const answered = inTime + late;
  return { withinMinutes, inTime, late, waiting, share: answered === 0 ? null : inTime / answered };
}
