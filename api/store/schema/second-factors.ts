import type { SchemaStep } from './steps.ts';

/** Authenticators beside passwords, the codes for when one is lost, and how each session was begun. */
export const secondFactors: SchemaStep = (t) => `
  -- secret and pending are sealed (api/sealing.ts). pending: shown, with its recovery codes, but no code of it has
  -- come yet. last_step: the time step of the last code that was taken, so that none is taken twice.
  create table second_factors (
    person_id text not null primary key, secret text, pending text, last_step ${t.integer} not null
  ) ${t.strict};
  create table recovery_codes (
    hash text not null primary key, person_id text not null, pending ${t.integer} not null, used_at ${t.integer}
  ) ${t.strict};
  create index recovery_codes_of_person on recovery_codes (person_id);
  -- What the plant has decided about signing in, one row a question; without a row the usual holds.
  create table sign_in_rules (name text not null primary key, answer text not null) ${t.strict};
  -- limited: a second factor has to be set up before anything else.
  alter table sessions add column way text;
  alter table sessions add column limited ${t.integer} not null default 0;
`;
