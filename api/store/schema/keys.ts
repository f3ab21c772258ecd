import type { SchemaStep } from './steps.ts';

/** Keys of programs: gauges, importers, reports. A row is never removed, for records carry its id. */
export const keys: SchemaStep = (t) => `
  create table api_keys (
    id text not null primary key, name text not null, digest ${t.bytes} not null unique, scopes text not null,
    reach text, made_by text not null, made_at ${t.integer} not null, expires_at ${t.integer},
    revoked_at ${t.integer}, revoked_by text, last_used_on text
  ) ${t.strictByKey};
`;
