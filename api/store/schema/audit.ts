import type { SchemaStep } from './steps.ts';

/** The chain of digests over all records, and notes of what was done that leaves no other record. */
export const audit: SchemaStep = (t) => `
  -- One entry for what a transaction recorded of a stream (or of the plant, chain ''). Each digest covers the one
  -- before it and the records themselves. Rows are only ever added.
  create table audit_entries (
    chain text not null, no ${t.integer} not null, records text not null,
    digest ${t.bytes} not null,
    primary key (chain, no)
  ) ${t.strictByKey};
  create table audit_notes (
    no ${t.counted}, at ${t.integer} not null, person_id text, what text not null, about text not null,
    detail text not null
  ) ${t.strict};
  create index audit_notes_by_time on audit_notes (at);
`;
