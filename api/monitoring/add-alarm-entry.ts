import { plantTime } from '../plant-time.ts';
import { conflict, unknown } from '../problem.ts';
import type { AlarmEntrySubmission, PlantModel } from '../schemas.ts';
import { requireSecondSignature } from '../second-signatures.ts';
import type { AlarmEntryRow, AlarmRow, StoreTransaction } from '../store/store.ts';
import { acknowledged, closed, decided, explained, worked } from './alarm-life-cycle.ts';
import type { By } from './by.ts';
import { containmentOf } from './containment.ts';
import { areSetApart } from './set-apart.ts';
import { requirePerson } from './stream-context.ts';

function after(alarm: AlarmRow, entry: AlarmEntrySubmission, now: number): AlarmRow {
  switch (entry.kind) {
    case 'acknowledged':
      return acknowledged(alarm, now);
    case 'decision':
      return decided(alarm, entry.decision);
    case 'cause':
      return explained(alarm, entry.text);
    case 'action':
    case 'quarantined':
      return worked(alarm);
    case 'closed':
      return closed(alarm, now);
  }
}

const withContainment: readonly AlarmEntrySubmission['kind'][] = ['decision', 'quarantined', 'closed'];

/** Two people reach for the same alarm: the second one hears who has it. */
async function refuseSecond(
  store: StoreTransaction,
  { plant, people }: PlantModel,
  alarm: AlarmRow,
  now: number,
): Promise<void> {
  if (alarm.acknowledgedAt === null || alarm.closedAt !== null) return;
  const entries = await store.alarmEntries(alarm.id);
  const by = entries.findLast(({ kind }) => kind === 'acknowledged')?.personId;
  const name = people.find(({ id }) => id === by)?.name ?? 'Someone';
  const [day, time] = plantTime(alarm.acknowledgedAt, plant.utcOffsetMinutes).split(' ');
  const today = plantTime(now, plant.utcOffsetMinutes).startsWith(day!);
  throw conflict('kind', `${name} has it since ${today ? time : `${day} ${time}`}.`);
}

/** Gives the head of the alarm as the entry leaves it; null where the entry was there already. */
export async function addAlarmEntry(
  store: StoreTransaction,
  alarmId: number,
  entry: AlarmEntrySubmission,
  by: By,
  now: number,
): Promise<AlarmRow | null> {
  const plant = await store.plantModel();
  requirePerson(plant, by.personId);
  const alarm = await store.alarm(alarmId);
  if (alarm === null) throw unknown('alarm', alarmId, 'id');
  const row: Omit<AlarmEntryRow, 'containment'> = {
    id: entry.id.toLowerCase(),
    alarmId,
    kind: entry.kind,
    at: now,
    personId: by.personId,
    secondPersonId: by.secondPersonId ?? null,
    text: 'text' in entry ? entry.text : '',
    decision: 'decision' in entry ? entry.decision : null,
    countedParts: 'countedParts' in entry ? entry.countedParts : null,
  };
  const stored = await store.alarmEntry(row.id!);
  if (stored !== null) {
    const same = (['alarmId', 'kind', 'text', 'decision', 'countedParts'] as const).every(
      (field) => stored[field] === row[field],
    );
    if (same) return null;
    throw conflict('id', `Another entry with the id ${row.id} is stored; give each entry an id of its own.`);
  }
  if (entry.kind === 'acknowledged') await refuseSecond(store, plant, alarm, now);
  const head = after(alarm, entry, now);
  if (entry.kind === 'closed' && areSetApart(await store.alarmEntries(alarmId)))
    requireSecondSignature(plant.people, by, 'release of parts set apart');
  const containment = withContainment.includes(entry.kind) ? await containmentOf(store, head, now) : null;
  await store.addAlarmEntry({ ...row, containment }, head);
  return head;
}
