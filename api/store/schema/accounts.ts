import type { SchemaStep } from './steps.ts';

/** Signing in: secrets (only ever hashed), sessions, registered stations, one-time links, failed attempts. */
export const accounts: SchemaStep = (t) => `
  create table accounts (
    person_id text not null primary key, password_hash text, pin_hash text, changed_at ${t.integer} not null
  ) ${t.strict};

  -- A browser that stands at a station for good. Found by the digest of the token in its cookie.
  create table registered_stations (
    token_digest text not null primary key, id text not null unique, station_id text not null,
    registered_by text not null, registered_at ${t.integer} not null, withdrawn_at ${t.integer}
  ) ${t.strict};

  -- A session that began at a registered station lives only there.
  create table sessions (
    token_digest text not null primary key, person_id text not null, registration_id text,
    began_at ${t.integer} not null, last_used_at ${t.integer} not null, ended_at ${t.integer}
  ) ${t.strict};
  create index sessions_of_person on sessions (person_id);

  -- Links and codes that work once: to make the first administrator, to choose secrets, to register a station.
  create table one_time_tokens (
    token_digest text not null primary key, purpose text not null, subject_id text not null,
    made_by text, expires_at ${t.integer} not null, used_at ${t.integer}
  ) ${t.strict};

  -- By person and way, or by address: failures in a row, so that every node slows the same guesser.
  create table failed_attempts (
    subject text not null primary key, failures ${t.integer} not null, last_at ${t.integer} not null
  ) ${t.strict};
`;
