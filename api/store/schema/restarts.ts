import type { SchemaStep } from './steps.ts';

/** Changes of a set-up that wait for an approved first piece, and what people stated about each. */
export const restarts: SchemaStep = (t) => `
  -- A change of the set-up with the plan of its first piece, as it was when the change began. Its id is that of the
  -- event. Rows are only ever added. unapproved_since: earlier where it overtakes a change that was never approved.
  create table restarts (
    no ${t.counted}, id text not null unique, line_id text not null, station_id text, kind text not null,
    at ${t.integer} not null, model_id text, plan text not null, overtakes text not null,
    unapproved_since ${t.integer} not null, person_id text not null, recorded_at ${t.integer} not null
  ) ${t.strict};
  create index restarts_of_line on restarts (line_id, at);
  -- What people stated, in its order, each with the samples that it stands on.
  create table restart_entries (
    no ${t.counted}, restart_no ${t.integer} not null references restarts (no), id text not null unique,
    kind text not null, at ${t.integer} not null, person_id text not null, text text not null, results text
  ) ${t.strict};
  create index restart_entries_of_restart on restart_entries (restart_no, no);
  -- Those that are not approved now; the record of it is in their entries.
  create table open_restarts (
    restart_no ${t.integer} primary key references restarts (no), line_id text not null
  ) ${t.strict};
`;
