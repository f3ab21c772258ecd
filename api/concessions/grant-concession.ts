import { areSetApart } from '../monitoring/set-apart.ts';
import { requirePerson } from '../monitoring/stream-context.ts';
import { endOfDay, plantTime } from '../plant-time.ts';
import { conflict, unacceptable, unknown } from '../problem.ts';
import type { ConcessionSubmission } from '../schemas.ts';
import type { AlarmEntryRow, StoreTransaction } from '../store/store.ts';
import { uuidBytes } from '../store/uuid.ts';
import { concessionById, concessions, entriesOfConcession } from './concession-records.ts';
import { concessionState, releasedUnder } from './concession-state.ts';

const MOST_OF_AN_ALARM = 1000;
/** A year typed wrongly, rather than a date (common practice, no source). */
const FARTHEST = 5 * 365.25 * 24 * 3_600_000;

/** Counted by hand at an alarm, all counts together: more were never behind the fence. */
const countedOf = (entries: readonly AlarmEntryRow[]): number =>
  entries.reduce((sum, { countedParts }) => sum + (countedParts ?? 0), 0);

/** What earlier concessions of an alarm have taken or may still take. */
async function takenByOthers(store: StoreTransaction, alarmId: number, now: number): Promise<number> {
  let taken = 0;
  for (const row of await concessions(store.sql, { alarmId, limit: MOST_OF_AN_ALARM })) {
    const entries = await entriesOfConcession(store.sql, row.no);
    taken += concessionState(row, entries, now) === 'valid' ? row.quantity : releasedUnder(entries);
  }
  return taken;
}

/**
 * The quality manager records that a customer takes parts as they are. The customer signs elsewhere, so their consent
 * stands here as evidence in the place of a second signature. It changes no verdict, no limit and no count. Gives the
 * number of the concession and whether it is new.
 */
export async function grantConcession(
  store: StoreTransaction,
  { id, alarmId, customer, consent, quantity, expiresOn, reason }: ConcessionSubmission,
  personId: string,
  now: number,
): Promise<{ readonly no: number; readonly isNew: boolean }> {
  const plant = await store.plantModel();
  requirePerson(plant, personId);
  const row = {
    alarmId,
    customer,
    consentDocument: consent.document,
    consentedBy: consent.givenBy,
    consentedOn: consent.on,
    quantity,
    expiresOn,
    reason,
    personId,
  };
  const stored = await concessionById(store.sql, id);
  if (stored !== null) {
    if ((Object.keys(row) as (keyof typeof row)[]).every((field) => stored[field] === row[field]))
      return { no: stored.no, isNew: false };
    throw conflict('id', `Another concession with the id ${id} is stored; give each one an id of its own.`);
  }
  if ((await store.alarm(alarmId)) === null) throw unknown('alarm', alarmId, 'alarmId');
  const entries = await store.alarmEntries(alarmId);
  if (!areSetApart(entries))
    throw conflict(
      'alarmId',
      `No parts were set apart at alarm ${alarmId}; a concession is for parts that stand apart.`,
    );
  const counted = countedOf(entries);
  if (counted === 0)
    throw conflict(
      'alarmId',
      `Nobody has counted the parts set apart at alarm ${alarmId}; record the count there first.`,
    );
  const others = await takenByOthers(store, alarmId, now);
  if (quantity + others > counted)
    throw unacceptable(
      'quantity',
      `${counted} parts were counted at alarm ${alarmId}${
        others > 0 ? `, and other concessions take ${others} of them` : ''
      }; give at most ${Math.max(0, counted - others)}.`,
    );
  const { utcOffsetMinutes } = plant.plant;
  const today = plantTime(now, utcOffsetMinutes).slice(0, 10);
  if (consent.on > today) throw unacceptable('consent.on', `is to come; today is ${today}`);
  if (expiresOn < today) throw unacceptable('expiresOn', `is over already; today is ${today}`);
  if (expiresOn > plantTime(now + FARTHEST, utcOffsetMinutes).slice(0, 10))
    throw unacceptable('expiresOn', 'lies more than five years ahead; a concession ends');
  const no = await store.addNumbered('concessions', {
    id: uuidBytes(id),
    alarm_id: alarmId,
    customer,
    consent_document: consent.document,
    consented_by: consent.givenBy,
    consented_on: consent.on,
    quantity,
    expires_on: expiresOn,
    expires_at: endOfDay(expiresOn, utcOffsetMinutes),
    reason,
    person_id: personId,
    at: now,
  });
  return { no, isNew: true };
}
