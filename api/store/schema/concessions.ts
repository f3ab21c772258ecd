import type { SchemaStep } from './steps.ts';

/** What a customer takes although it is not as the drawing asks. */
export const concessions: SchemaStep = (t) => `
  -- consent_*: the customer's consent; they have no account here, so it is kept as evidence. Rows are only ever added.
  create table concessions (
    no ${t.counted}, id ${t.bytes} not null unique, alarm_id ${t.integer} not null references alarms (id),
    customer text not null, consent_document text not null, consented_by text not null, consented_on text not null,
    quantity ${t.integer} not null, expires_on text not null, expires_at ${t.integer} not null,
    reason text not null, person_id text not null, at ${t.integer} not null
  ) ${t.strict};
  create index concessions_of_alarm on concessions (alarm_id);
  -- Parts released under it or taken back, and its withdrawal.
  create table concession_entries (
    no ${t.counted}, id ${t.bytes} not null unique, concession_no ${t.integer} not null references concessions (no),
    kind text not null, quantity ${t.integer}, text text not null, person_id text not null, at ${t.integer} not null
  ) ${t.strict};
  create index concession_entries_of_concession on concession_entries (concession_no);
`;
