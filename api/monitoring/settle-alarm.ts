import type { Change } from '../schemas.ts';
import type {
  AlarmEntryRow,
  AlarmRow,
  MeasuredValues,
  SamplePlace,
  SampleRow,
  SignalRow,
  StoreReads,
  StoreTransaction,
  Withdrawal,
} from '../store/store.ts';
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
  secondPersonId: null,
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

/** A sample that comes in or is corrected, as it will read once it is stored. */
export interface SettledSample extends SamplePlace {
  readonly values: MeasuredValues;
  /** Why the product itself calls, whatever the chart says; null where it does not. */
  readonly productCalls: string | null;
  /** false: it called already before a correction, and has raised its alarm then. */
  readonly isNewCall: boolean;
}

/**
 * One open alarm for each stream and part model. The first signal raises it, and so does a piece outside the drawing
 * whatever the plan says of signals; further ones join it, one after its return to normal raises it again. It
 * returns to normal when the newest sample stands on no signal and has nothing outside the drawing.
 */
export async function settleAlarm(
  store: StoreTransaction,
  context: StreamContext,
  added: readonly DraftSignal[],
  newestStandsOnSignal: boolean,
  now: number,
  sample: SettledSample | null = null,
): Promise<SettledAlarm> {
  const { stream, modelId, plan } = context;
  let alarm = await store.openAlarm(stream.id, modelId);
  const first = plan?.raisesAlarms === true ? added.find((signal) => isRecent(signal, now)) : undefined;
  const product = sample?.isNewCall && isRecent(sample, now) ? sample.productCalls : null;
  const grounds = [product, first?.sentence].filter((sentence) => typeof sentence === 'string');
  const calls = grounds.length > 0;
  const sentence = grounds.join(' ');
  if (calls && alarm === null) {
    const head = raised(stream.id, modelId, sentence, now);
    alarm = { ...head, id: await store.addAlarm(head) };
    await store.addAlarmEntry(entryBySoftware(alarm.id, 'raised', sentence, now), alarm);
  } else if (calls && alarm !== null && !alarm.active) {
    alarm = raisedAgain(alarm);
    await store.addAlarmEntry(entryBySoftware(alarm.id, 'raised-again', sentence, now), alarm);
  }
  const returns =
    alarm?.active === true && !newestStandsOnSignal && !(await newestIsOutside(store, context, sample));
  if (alarm !== null && returns) {
    alarm = returnedToNormal(alarm, now);
    const text = 'The newest sample stands on no signal and has nothing outside the drawing.';
    await store.addAlarmEntry(entryBySoftware(alarm.id, 'returned-to-normal', text, now), alarm);
  }
  if (alarm === null || !(calls || returns)) return { alarmId: null, changes: [] };
  return { alarmId: calls ? alarm.id : null, changes: [alarmChange(alarm)] };
}

/** Has the newest sample of the stream and model a value outside the drawing, doubted or not? */
async function newestIsOutside(
  store: StoreReads,
  { stream, modelId }: StreamContext,
  sample: SettledSample | null,
): Promise<boolean> {
  const [newest] = await store.samples(stream.id, modelId, { from: 0, to: Number.MAX_SAFE_INTEGER }, 1);
  const isSame = sample !== null && newest?.no === sample.no;
  if (sample !== null && (newest === undefined || isSame || isLater(sample, newest))) {
    return sample.productCalls !== null || sample.values.outsideSpecification.length > 0;
  }
  return newest !== undefined && isOutside(store, newest);
}

/** Does a stored sample stand outside the drawing, or call for what was counted? */
export async function isOutside(
  store: StoreReads,
  { id, count, outsideSpecification }: SampleRow,
): Promise<boolean> {
  if (count === null) return outsideSpecification.length > 0;
  return (await store.newestAnswer(id))?.verdict.level === 'call';
}

const isLater = (a: SamplePlace, b: SamplePlace): boolean =>
  a.takenAt > b.takenAt || (a.takenAt === b.takenAt && a.no > b.no);

export const isRecent = ({ takenAt }: { readonly takenAt: number }, now: number): boolean =>
  takenAt >= now - RECENT;

/** Gives the signals their ids, and those recent enough the alarm. */
export async function numbered(
  store: StoreTransaction,
  context: StreamContext,
  added: readonly DraftSignal[],
  alarmId: number | null,
  now: number,
) {
  if (added.length === 0) return [];
  const ids = await store.newSignalIds(added.length);
  return added.map((signal, index) => ({
    ...signal,
    id: ids[index]!,
    alarmId: context.plan?.raisesAlarms === true && isRecent(signal, now) ? alarmId : null,
  }));
}

/** Withdraws signals that lost their ground, and says so in the record of their alarms. */
export async function withdrawSignals(
  store: StoreTransaction,
  signals: readonly SignalRow[],
  withdrawal: Withdrawal,
  now: number,
): Promise<void> {
  const { because } = withdrawal;
  for (const signal of signals) {
    await store.withdrawSignal(signal.id, now, withdrawal);
    const alarm = signal.alarmId === null ? null : await store.alarm(signal.alarmId);
    if (alarm === null) continue;
    const text = `${because} Withdrawn: ${signal.sentence}`;
    await store.addAlarmEntry(entryBySoftware(alarm.id, 'signal-withdrawn', text, now), alarm);
  }
}
