import { areSetApart } from '../monitoring/set-apart.ts';
import { requirePerson } from '../monitoring/stream-context.ts';
import { endOfDay, plantTime } from '../plant-time.ts';
import { conflict, ProblemError, unknown } from '../problem.ts';
import type { ConcessionSubmission } from '../schemas.ts';
import type { StoreTransaction } from '../store/store.ts';
import { uuidBytes } from '../store/uuid.ts';
import { concessionById } from './concession-records.ts';
import { partsApartAt } from './parts-apart.ts';

/** A year typed wrongly, rather than a date (common practice, no source). */
const FARTHEST = 5 * 365.25 * 24 * 3_600_000;

/** Of what stands apart, no more than concessions that hold have left. */
async function quantityFault(
  store: StoreTransaction,
  { alarmId, quantity }: ConcessionSubmission,
  now: number,
): Promise<string | null> {
  const { counted, releasedSince, left, promised } = await partsApartAt(store, alarmId, now);
  if (counted === null)
    throw conflict(
      'alarmId',
      `Nobody has counted the parts set apart at alarm ${alarmId}; record the count there first.`,
    );
  const free = left - promised;
  if (quantity <= free) return null;
  const others = releasedSince + promised;
  const were = `${counted} ${counted === 1 ? 'part was' : 'parts were'} counted at alarm ${alarmId}`;
  if (free <= 0)
    return others > 0
      ? `${were}, and other concessions take all of them; none is left for this one.`
      : `${were} last; none is left for a concession.`;
  return `${were}${others > 0 ? `, and other concessions take ${others} of them` : ''}; give at most ${free}.`;
}

/** What is wrong with the days, by field. */
function dayFaults(
  { consent, expiresOn }: ConcessionSubmission,
  utcOffsetMinutes: number,
  now: number,
): { readonly field: string; readonly message: string }[] {
  const today = plantTime(now, utcOffsetMinutes).slice(0, 10);
  const faults: { field: string; message: string }[] = [];
  if (consent.on > today) faults.push({ field: 'consent.on', message: `is to come; today is ${today}` });
  if (expiresOn < today) faults.push({ field: 'expiresOn', message: `is over already; today is ${today}` });
  if (expiresOn > plantTime(now + FARTHEST, utcOffsetMinutes).slice(0, 10))
    faults.push({ field: 'expiresOn', message: 'lies more than five years ahead; a concession ends' });
  return faults;
}

/**
 * The quality manager records that a customer takes parts as they are. The customer signs elsewhere, so their consent
 * stands here as evidence in the place of a second signature. It changes no verdict, no limit and no count. Gives the
 * number of the concession and whether it is new.
 */
export async function grantConcession(
  store: StoreTransaction,
  submission: ConcessionSubmission,
  personId: string,
  now: number,
): Promise<{ readonly no: number; readonly isNew: boolean }> {
  const { id, alarmId, customer, consent, quantity, expiresOn, reason } = submission;
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
  if (!areSetApart(await store.alarmEntries(alarmId)))
    throw conflict(
      'alarmId',
      `No parts were set apart at alarm ${alarmId}; a concession is for parts that stand apart.`,
    );
  const { utcOffsetMinutes } = plant.plant;
  // All at once, so that nobody mends one field only to hear of the next.
  const faults = dayFaults(submission, utcOffsetMinutes, now);
  const tooMany = await quantityFault(store, submission, now);
  if (faults.length > 0 || tooMany !== null) {
    const days = faults.map(({ field, message }) => `${field} ${message}`).join('; ');
    throw new ProblemError(
      422,
      'Not acceptable as it stands',
      [...(days === '' ? [] : [`${days}.`]), ...(tooMany === null ? [] : [tooMany])].join(' '),
      [...faults, ...(tooMany === null ? [] : [{ field: 'quantity', message: tooMany }])],
    );
  }
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
