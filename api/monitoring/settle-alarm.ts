import type { Change } from '../schemas.ts';
import type { AlarmEntryRow, AlarmRow, SignalRow, StoreTransaction } from '../store/store.ts';
import { raised, raisedAgain, returnedToNormal } from './alarm-life-cycle.ts';
import type { DraftSignal } from './judge.ts';
import type { StreamContext } from './stream-context.ts';

/** A sample older than this raises no alarm: nobody can act on it any more, so its signals are only recorded. */
const RECENT = 24 * 3_600_000;

const entryBySoftware = (
  alarmId: number,
  kind: AlarmEntryRow['kind'],
  text: string,
  at: number,
): AlarmEntryRow => ({
  id: null,
  alarmId,
  kind,
  at,
  personId: null,
  text,
  decision: null,
  countedParts: null,
  containment: null,
});

export const alarmChange = (alarm: AlarmRow): Change => ({
  kind: 'alarm',
  streamId: alarm.streamId,
  alarmId: alarm.id,
  state: alarm.state,
});

export interface SettledAlarm {
  /** The alarm that recent signals belong to. */
  readonly alarmId: number | null;
  readonly changes: readonly Change[];
}

/**
 * One open alarm for each stream and part model: the first signal raises it, further ones join it, one after its
 * return to normal raises it again, and it returns to normal when the newest sample stands on no signal.
 */
export async function settleAlarm(
  store: StoreTransaction,
  context: StreamContext,
  added: readonly DraftSignal[],
  newestStands: boolean,
  now: number,
): Promise<SettledAlarm> {
  const { stream, modelId, plan } = context;
  let alarm = await store.openAlarm(stream.id, modelId);
  const calling = plan?.raisesAlarms === true ? added.filter((signal) => isRecent(signal, now)) : [];
  const [first] = calling;
  if (first !== undefined && alarm === null) {
    const head = raised(stream.id, modelId, first.sentence, now);
    alarm = { ...head, id: await store.addAlarm(head) };
    await store.addAlarmEntry(entryBySoftware(alarm.id, 'raised', first.sentence, now), alarm);
  } else if (first !== undefined && alarm !== null && !alarm.active) {
    alarm = raisedAgain(alarm);
    await store.addAlarmEntry(entryBySoftware(alarm.id, 'raised-again', first.sentence, now), alarm);
  }
  const wasActive = alarm?.active === true;
  if (alarm !== null && wasActive && !newestStands) {
    alarm = returnedToNormal(alarm, now);
    const text = 'The newest sample stands on no signal.';
    await store.addAlarmEntry(entryBySoftware(alarm.id, 'returned-to-normal', text, now), alarm);
  }
  if (alarm === null || (first === undefined && !(wasActive && !newestStands))) {
    return { alarmId: null, changes: [] };
  }
  return { alarmId: first === undefined ? null : alarm.id, changes: [alarmChange(alarm)] };
}

const isRecent = ({ takenAt }: DraftSignal, now: number): boolean => takenAt >= now - RECENT;

/** Gives the signals their ids, and those recent enough the alarm. */
export async function numbered(
  store: StoreTransaction,
  context: StreamContext,
  added: readonly DraftSignal[],
  alarmId: number | null,
  now: number,
) {
  if (added.length === 0) return [];
  const first = await store.nextSignalId();
  return added.map((signal, index) => ({
    ...signal,
    id: first + index,
    alarmId: context.plan?.raisesAlarms === true && isRecent(signal, now) ? alarmId : null,
  }));
}

/** Withdraws signals that lost their ground, and says so in the record of their alarms. */
export async function withdrawSignals(
  store: StoreTransaction,
  signals: readonly SignalRow[],
  because: string,
  now: number,
): Promise<void> {
  for (const signal of signals) {
    await store.withdrawSignal(signal.id, now, because);
    const alarm = signal.alarmId === null ? null : await store.alarm(signal.alarmId);
    if (alarm === null) continue;
    const text = `${because} Withdrawn: ${signal.sentence}`;
    await store.addAlarmEntry(entryBySoftware(alarm.id, 'signal-withdrawn', text, now), alarm);
  }
}
