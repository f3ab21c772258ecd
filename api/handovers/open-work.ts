import { concessionsOf } from '../concessions/concession-payload.ts';
import { alarmPayload } from '../monitoring/alarm-payload.ts';
import { isoTime } from '../monitoring/payloads.ts';
import type { OpenMatter, OpenWork } from '../schemas.ts';
import type { StoreReads } from '../store/store.ts';
import { latestHandoverAt } from './handover-records.ts';
import { missedSampleMatters } from './missed-samples.ts';
import { type OpenAlarm, openAlarmMatters } from './open-alarms.ts';
import { stoppageMatters } from './open-stoppages.ts';
import { setApartMatters } from './parts-set-apart.ts';
import { messageMatters } from './undelivered.ts';
import { concessionMatters } from './valid-concessions.ts';
import { restartMatters } from './waiting-restarts.ts';

const HOUR = 3_600_000;
/** Where nobody has handed over before: as long as a long shift (common practice, no source). */
const LONG_SHIFT = 12 * HOUR;
/** A plant that stood over the holidays is asked no further back. */
const MOST = 7 * 24 * HOUR;
const MOST_ALARMS = 1000;
const MOST_CONCESSIONS = 500;

/**
 * Everything that is open, in words. Put together from what is stored and stored nowhere itself, until a supervisor
 * signs for it. Missed samples are told since the last handover, so that none falls between two.
 */
export async function openWork(store: StoreReads, now: number): Promise<OpenWork> {
  const plant = await store.plantModel();
  const last = await latestHandoverAt(store.sql, now);
  const since = last === null ? now - LONG_SHIFT : Math.max(last, now - MOST);
  const alarms: OpenAlarm[] = [];
  for (const row of await store.alarms({ open: true, limit: MOST_ALARMS }))
    alarms.push({ alarm: await alarmPayload(store, row, now), entries: await store.alarmEntries(row.id) });
  const { calling, shelved } = openAlarmMatters(plant, alarms);
  const concessions = await concessionsOf(store, { limit: MOST_CONCESSIONS }, now);
  const sections: OpenWork['sections'] = [
    { of: 'alarms', matters: calling },
    { of: 'shelved alarms', matters: shelved },
    { of: 'parts set apart', matters: setApartMatters(plant, alarms, concessions) },
    { of: 'restarts', matters: await restartMatters(store, plant, now) },
    { of: 'stoppages', matters: await stoppageMatters(store, plant, now) },
    { of: 'missed samples', matters: await missedSampleMatters(store, plant, since, now) },
    { of: 'concessions', matters: concessionMatters(plant, concessions) },
    { of: 'messages', matters: await messageMatters(store.sql) },
  ];
  return { at: isoTime(now), since: isoTime(since), sections };
}

export const mattersOf = ({ sections }: OpenWork): OpenMatter[] => sections.flatMap(({ matters }) => matters);

/** What is open now and was not then. */
export function openedSince(then: OpenWork, now: OpenWork): OpenMatter[] {
  const known = new Set(mattersOf(then).map(({ key }) => key));
  return mattersOf(now).filter(({ key }) => !known.has(key));
}
