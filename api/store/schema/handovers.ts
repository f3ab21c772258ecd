import type { SchemaStep } from './steps.ts';

/** What one supervisor hands over to the next. */
export const handovers: SchemaStep = (t) => `
  -- open: what was open at that moment, as JSON, so that it can be read later as it was seen. Rows are only ever added.
  create table handovers (
    no ${t.counted}, id ${t.bytes} not null unique, open text not null, words text not null,
    person_id text not null, at ${t.integer} not null
  ) ${t.strict};
  -- Taken over, or withdrawn with a reason: once, whatever the number of writers.
  -- opened_since: what had come up in between and was shown to whoever took over.
  create table handover_ends (
    no ${t.counted}, id ${t.bytes} not null unique, handover_no ${t.integer} not null unique references handovers (no),
    kind text not null, words text not null, opened_since text not null,
    person_id text not null, at ${t.integer} not null
  ) ${t.strict};
`;
