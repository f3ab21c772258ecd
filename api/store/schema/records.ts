import type { SchemaStep } from './steps.ts';

/** Plant, samples, corrections, limits, alarms, signals, events. */
export const records: SchemaStep = (t) => `
  -- The plant as it is now, one document a record, and every change that led to it.
  create table plant_records (
    kind text not null, id text not null, body text not null,
    primary key (kind, id)
  ) ${t.strictByKey};
  create table plant_changes (
    no ${t.counted}, kind text not null, id text not null, before text, after text not null,
    reason text not null, person_id text not null, at ${t.integer} not null
  ) ${t.strict};
  create index plant_changes_of_record on plant_changes (kind, id);

  -- A sample as first accepted, with the answer that its sender got. Rows are only ever added. Numbered in order of
  -- arrival so that the table grows at its end; the ids are random, and only their own narrow index pays for it.
  create table samples (
    no ${t.counted}, id ${t.bytes} not null, stream_id text not null, model_id text not null,
    taken_at ${t.integer} not null, stored_at ${t.integer} not null, person_id text not null, door text not null,
    readings text, inspected ${t.integer}, nonconforming ${t.integer},
    size ${t.integer} not null, mean ${t.real}, range ${t.real}, standard_deviation ${t.real},
    questions text, outside text, good ${t.integer} not null, lot text, note text not null, answer text not null
  ) ${t.strict};
  create unique index samples_by_id on samples (id);
  -- Holds all that a chart needs, so that judging a sample reads a few neighbouring entries and no rows.
  create index samples_by_time on samples
    (stream_id, model_id, taken_at, no, size, mean, range, standard_deviation);

  -- Corrections: revision 2 and up. Rows are only ever added.
  create table sample_revisions (
    sample_no ${t.integer} not null references samples (no), revision ${t.integer} not null, id ${t.bytes} not null unique,
    stream_id text not null, model_id text not null, taken_at ${t.integer} not null,
    readings text, inspected ${t.integer}, nonconforming ${t.integer},
    size ${t.integer} not null, mean ${t.real}, range ${t.real}, standard_deviation ${t.real},
    questions text, outside text, good ${t.integer} not null,
    reason text not null, person_id text not null, at ${t.integer} not null, answer text not null,
    primary key (sample_no, revision)
  ) ${t.strict};
  create index sample_revisions_by_time on sample_revisions
    (stream_id, model_id, taken_at, sample_no, revision);

  create table limits_versions (
    stream_id text not null, model_id text not null, version ${t.integer} not null, status text not null,
    mean ${t.real} not null, within_subgroup_standard_deviation ${t.real} not null,
    mean_standard_deviation ${t.real}, method text not null, baseline_from ${t.integer}, baseline_to ${t.integer},
    subgroups_used ${t.integer} not null, readings_used ${t.integer} not null, effective_from ${t.integer} not null,
    reason text not null, signals_explained ${t.integer} not null, person_id text not null, at ${t.integer} not null,
    primary key (stream_id, model_id, version)
  ) ${t.strictByKey};

  -- The head of an alarm is what its entries add up to; the entries are the record, and only ever added.
  create table alarms (
    id ${t.counted}, stream_id text not null, model_id text not null, state text not null,
    active ${t.integer} not null, raised_at ${t.integer} not null, acknowledged_at ${t.integer},
    returned_to_normal_at ${t.integer}, closed_at ${t.integer}, decision text, cause text, sentence text not null
  ) ${t.strict};
  -- One open alarm a stream and model, whatever the number of writers.
  create unique index open_alarms on alarms (stream_id, model_id) where closed_at is null;
  create index alarms_of_stream on alarms (stream_id, model_id, raised_at);
  create table alarm_entries (
    no ${t.counted}, alarm_id ${t.integer} not null references alarms (id), id ${t.bytes} unique,
    kind text not null, at ${t.integer} not null, person_id text, text text not null, decision text,
    counted_parts ${t.integer}, containment text
  ) ${t.strict};
  create index alarm_entries_of_alarm on alarm_entries (alarm_id);

  -- Rows are added; withdrawn_at and withdrawn_because are set once.
  create table signals (
    id ${t.counted}, sample_no ${t.integer} not null references samples (no), stream_id text not null,
    model_id text not null, taken_at ${t.integer} not null, limits_version ${t.integer} not null, chart text not null,
    rule text not null, side text not null, points text not null, first_point_at ${t.integer} not null, sentence text not null,
    alarm_id ${t.integer} references alarms (id), at ${t.integer} not null, withdrawn_at ${t.integer}, withdrawn_because text
  ) ${t.strict};
  create index signals_of_sample on signals (sample_no);
  create index signals_by_time on signals (stream_id, model_id, taken_at);
  create index signals_of_alarm on signals (alarm_id) where alarm_id is not null;

  create table events (
    no ${t.counted}, id ${t.bytes} not null unique, line_id text not null, station_id text, stream_id text,
    kind text not null, at ${t.integer} not null, until ${t.integer}, model_id text, lot text, text text not null,
    person_id text not null, recorded_at ${t.integer} not null
  ) ${t.strict};
  create index events_by_time on events (line_id, at);
  create index events_by_kind on events (line_id, kind, at);
  -- The end of a stoppage that was recorded while it lasted.
  create table event_ends (
    event_no ${t.integer} primary key references events (no), until ${t.integer} not null,
    person_id text not null, recorded_at ${t.integer} not null
  ) ${t.strict};

  create table missed_samples (
    stream_id text not null, due_at ${t.integer} not null, reason text not null, person_id text not null,
    at ${t.integer} not null,
    primary key (stream_id, due_at)
  ) ${t.strictByKey};
`;
