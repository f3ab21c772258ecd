import type { SchemaStep } from './steps.ts';

/** Which alarm a sample with pieces outside the drawing belongs to. */
export const outsideSamples: SchemaStep = (t) => `

  -- Samples that call for the product's sake, by the alarm that they raised or joined. A correction that leaves the
  -- sample so adds a row for its revision: a row counts while its revision is the newest. Rows are only ever added.
  create table outside_samples (
    alarm_id ${t.integer} not null references alarms (id), sample_no ${t.integer} not null references samples (no),
    revision ${t.integer} not null,
    primary key (alarm_id, sample_no, revision)
  ) ${t.strictByKey};
  create index outside_samples_by_sample on outside_samples (sample_no);
  -- What took a signal's ground: 'correction' of values, or judging anew ('limits', 'late sample'), which checks no
  -- part. Null where it was withdrawn before this column.
  alter table signals add column withdrawn_by text;
`;
