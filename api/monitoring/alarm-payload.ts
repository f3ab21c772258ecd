import { unknown } from '../problem.ts';
import { routingRecords } from '../routing/routing-records.ts';
import { severityOf } from '../routing/severity.ts';
import { shelvedNow } from '../routing/shelf.ts';
import type { Alarm, AlarmDetail } from '../schemas.ts';
import type { AlarmEntryRow, AlarmRow, StoreReads } from '../store/store.ts';
import { containmentOf } from './containment.ts';
import { isoTime, isoTimeOrNull, signalPayload } from './payloads.ts';

/** The containment of a closed alarm is the one that it was closed with. */
async function containmentNow(store: StoreReads, alarm: AlarmRow, now: number) {
  if (alarm.closedAt === null) return containmentOf(store, alarm, now);
  const entries = await store.alarmEntries(alarm.id);
  return (
    entries.findLast(({ kind }) => kind === 'closed')?.containment ?? (await containmentOf(store, alarm, now))
  );
}

async function newestOf(store: StoreReads, { streamId, modelId }: AlarmRow): Promise<Alarm['newest']> {
  const [newest] = await store.samples(streamId, modelId, { from: 0, to: Number.MAX_SAFE_INTEGER }, 1);
  if (newest === undefined) return null;
  return {
    sampleId: newest.id,
    takenAt: isoTime(newest.takenAt),
    values: (newest.readings ?? []).map(({ value }) => value),
    outsideSpecification: [...newest.outsideSpecification],
  };
}

async function decidedBeforeRaisedAgain(store: StoreReads, { id, decision }: AlarmRow): Promise<boolean> {
  if (decision === null) return false;
  const kinds = (await store.alarmEntries(id)).map(({ kind }) => kind);
  return kinds.lastIndexOf('raised-again') > kinds.lastIndexOf('decision');
}

async function shelvedOf(store: StoreReads, { id }: AlarmRow, now: number): Promise<Alarm['shelved']> {
  const shelved = await shelvedNow(store.sql, id, now);
  if (shelved === null) return null;
  const { personId, reason, since, until } = shelved;
  return { personId, reason, since: isoTime(since), until: isoTime(until) };
}

async function severityNow(store: StoreReads, alarm: AlarmRow): Promise<Alarm['severity']> {
  const { safetyCharacteristicIds } = await routingRecords(store.sql);
  return severityOf(store.sql, await store.plantModel(), safetyCharacteristicIds, alarm);
}

/** Rules are there, and none of them has told of the alarm since it called. */
async function nobodyTold({ sql }: StoreReads, { id, closedAt }: AlarmRow): Promise<boolean> {
  if (closedAt !== null || !(await routingRecords(sql)).rules.some(({ active }) => active)) return false;
  const told = await sql.one(
    `select 1 from incident_alarms where alarm_id = ? and at >= (select max(at) from alarm_entries
       where alarm_id = ? and kind in ('raised', 'raised-again'))`,
    id,
    id,
  );
  return told === null;
}

export async function alarmPayload(store: StoreReads, alarm: AlarmRow, now: number): Promise<Alarm> {
  return {
    id: alarm.id,
    streamId: alarm.streamId,
    modelId: alarm.modelId,
    state: alarm.state,
    active: alarm.active,
    raisedAt: isoTime(alarm.raisedAt),
    acknowledgedAt: isoTimeOrNull(alarm.acknowledgedAt),
    returnedToNormalAt: isoTimeOrNull(alarm.returnedToNormalAt),
    closedAt: isoTimeOrNull(alarm.closedAt),
    decision: alarm.decision,
    cause: alarm.cause,
    sentence: alarm.sentence,
    signalCount: (await store.signalSpanOfAlarm(alarm.id)).count,
    outsideSamples: (await store.outsideSpanOfAlarm(alarm.id)).count,
    newest: await newestOf(store, alarm),
    decidedBeforeRaisedAgain: await decidedBeforeRaisedAgain(store, alarm),
    closedWhileActive: alarm.closedAt !== null && alarm.active,
    severity: await severityNow(store, alarm),
    shelved: await shelvedOf(store, alarm, now),
    nobodyTold: await nobodyTold(store, alarm),
    containment: await containmentNow(store, alarm, now),
  };
}

/** A piece outside the drawing raises an alarm even where no sampling plan tells what to do. */
const withoutPlan: AlarmDetail['reactionPlan'] = {
  steps: [
    'Set the parts apart.',
    'Call the quality engineer: this stream has no sampling plan, so no reaction plan of its own.',
  ],
  cautions: [],
};

const entryPayload = ({
  kind,
  at,
  personId,
  secondPersonId,
  text,
  decision,
  countedParts,
  containment,
}: AlarmEntryRow) => ({
  kind,
  at: isoTime(at),
  personId,
  secondPersonId,
  text,
  decision,
  countedParts,
  containment,
});

export async function alarmDetail(store: StoreReads, id: number, now: number): Promise<AlarmDetail> {
  const alarm = await store.alarm(id);
  if (alarm === null) throw unknown('alarm', id, 'id');
  const { plans } = await store.plantModel();
  const plan = plans.find(({ streamId }) => streamId === alarm.streamId);
  return {
    alarm: await alarmPayload(store, alarm, now),
    entries: (await store.alarmEntries(id)).map(entryPayload),
    signals: (await store.signalsOfAlarm(id)).map(signalPayload),
    reactionPlan: plan?.reactionPlan ?? withoutPlan,
  };
}
