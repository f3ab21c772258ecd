import type { SchemaStep } from './steps.ts';

/**
 * When the record of an id was taken. Where old records lie in tables of their own by month, the time has to be known
 * to find the month; an engine that keeps them in one table reads it there, at no cost.
 */
export const lookups: SchemaStep = () => `
  create view sample_ids as select no, id, taken_at from samples;
  create view revision_ids as select id, sample_no, revision, taken_at from sample_revisions;
  create view event_ids as select no, id, at from events;
`;
