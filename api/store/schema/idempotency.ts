import type { SchemaStep } from './steps.ts';

/** Answers to writes that their sender marked with a key, kept for a day; and where lists are read in order of arrival. */
export const idempotency: SchemaStep = (t) => `
  -- answer: null while the write is under way. claimed_until: when a write that never ended may be begun again.
  create table idempotency_keys (
    who text not null, name text not null, fingerprint ${t.bytes} not null, answer text,
    at ${t.integer} not null, claimed_until ${t.integer} not null,
    primary key (who, name)
  ) ${t.strictByKey};
  create index idempotency_keys_by_age on idempotency_keys (at);
`;

/** Key and result are written in the transaction of the work itself: there is no key without its result any more. */
export const idempotencyWithWork: SchemaStep = () => `
  delete from idempotency_keys where answer is null;
  alter table idempotency_keys drop column claimed_until;
`;
