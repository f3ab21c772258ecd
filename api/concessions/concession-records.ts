import type { Concession } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import { uuidBytes } from '../store/uuid.ts';

export interface ConcessionRow {
  readonly no: number;
  readonly alarmId: number;
  readonly customer: string;
  readonly consentDocument: string;
  readonly consentedBy: string;
  /** A day, as written on the consent. */
  readonly consentedOn: string;
  readonly quantity: number;
  readonly expiresOn: string;
  readonly expiresAt: number;
  readonly reason: string;
  readonly personId: string;
  readonly at: number;
}

export interface ConcessionEntryRow {
  readonly concessionNo: number;
  readonly kind: Concession['entries'][number]['kind'];
  readonly quantity: number | null;
  readonly text: string;
  readonly personId: string;
  readonly at: number;
}

const select = `select no, alarm_id as "alarmId", customer, consent_document as "consentDocument",
  consented_by as "consentedBy", consented_on as "consentedOn", quantity, expires_on as "expiresOn",
  expires_at as "expiresAt", reason, person_id as "personId", at from concessions`;
const entrySelect = `select concession_no as "concessionNo", kind, quantity, text, person_id as "personId", at
  from concession_entries`;

export const concessionNo = (sql: Sql, no: number): Promise<ConcessionRow | null> =>
  sql.one(`${select} where no = ?`, no);

/** By the id that the sender chose. */
export const concessionById = (sql: Sql, id: string): Promise<ConcessionRow | null> =>
  sql.one(`${select} where id = ?`, uuidBytes(id));
export const concessionEntryById = (sql: Sql, id: string): Promise<ConcessionEntryRow | null> =>
  sql.one(`${entrySelect} where id = ?`, uuidBytes(id));

/** Oldest first. */
export const entriesOfConcession = (sql: Sql, no: number): Promise<ConcessionEntryRow[]> =>
  sql.all(`${entrySelect} where concession_no = ? order by no`, no);

export interface ConcessionQuery {
  readonly alarmId?: number;
  /** Only later ones, in order of arrival instead of newest first. */
  readonly after?: number;
  readonly limit: number;
}

export const concessions = (sql: Sql, { alarmId, after, limit }: ConcessionQuery): Promise<ConcessionRow[]> =>
  sql.all(
    `${select} where no > ? ${alarmId === undefined ? '' : 'and alarm_id = ?'}
     order by no ${after === undefined ? 'desc' : ''} limit ?`,
    ...[after ?? 0, ...(alarmId === undefined ? [] : [alarmId]), limit],
  );
