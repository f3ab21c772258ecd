import type Database from 'better-sqlite3';

/**
 * Steps from each schema to the next; the database's user_version counts those it has had. A released step is never
 * edited: what changes is a further step.
 */
const migrations: readonly string[] = [
  `
  -- The plant as it is now, one document a record, and every change that led to it.
  create table plant_records (
    kind text not null, id text not null, body text not null,
    primary key (kind, id)
  ) strict, without rowid;
  create table plant_changes (
    no integer primary key, kind text not null, id text not null, before text, after text not null,
    reason text not null, person_id text not null, at integer not null
  ) strict;
  create index plant_changes_of_record on plant_changes (kind, id);

  -- A sample as first accepted, with the answer that its sender got. Rows are only ever added. Numbered in order of
  -- arrival so that the table grows at its end; the ids are random, and only their own narrow index pays for it.
  create table samples (
    no integer primary key, id blob not null, stream_id text not null, model_id text not null,
    taken_at integer not null, stored_at integer not null, person_id text not null, door text not null,
    readings text, inspected integer, nonconforming integer,
    size integer not null, mean real, range real, standard_deviation real,
    questions text, outside text, good integer not null, lot text, note text not null, answer text not null
  ) strict;
  create unique index samples_by_id on samples (id);
  -- Holds all that a chart needs, so that judging a sample reads a few neighbouring entries and no rows.
  create index samples_by_time on samples
    (stream_id, model_id, taken_at, no, size, mean, range, standard_deviation);

  -- Corrections: revision 2 and up. Rows are only ever added.
  create table sample_revisions (
    sample_no integer not null references samples (no), revision integer not null, id blob not null unique,
    stream_id text not null, model_id text not null, taken_at integer not null,
    readings text, inspected integer, nonconforming integer,
    size integer not null, mean real, range real, standard_deviation real,
    questions text, outside text, good integer not null,
    reason text not null, person_id text not null, at integer not null, answer text not null,
    primary key (sample_no, revision)
  ) strict;
  create index sample_revisions_by_time on sample_revisions
    (stream_id, model_id, taken_at, sample_no, revision);

  create table limits_versions (
    stream_id text not null, model_id text not null, version integer not null, status text not null,
    mean real not null, within_subgroup_standard_deviation real not null,
    mean_standard_deviation real, method text not null, baseline_from integer, baseline_to integer,
    subgroups_used integer not null, readings_used integer not null, effective_from integer not null,
    reason text not null, signals_explained integer not null, person_id text not null, at integer not null,
    primary key (stream_id, model_id, version)
  ) strict, without rowid;

  -- The head of an alarm is what its entries add up to; the entries are the record, and only ever added.
  create table alarms (
    id integer primary key, stream_id text not null, model_id text not null, state text not null,
    active integer not null, raised_at integer not null, acknowledged_at integer,
    returned_to_normal_at integer, closed_at integer, decision text, cause text, sentence text not null
  ) strict;
  -- One open alarm a stream and model, whatever the number of writers.
  create unique index open_alarms on alarms (stream_id, model_id) where closed_at is null;
  create index alarms_of_stream on alarms (stream_id, model_id, raised_at);
  create table alarm_entries (
    no integer primary key, alarm_id integer not null references alarms (id), id blob unique,
    kind text not null, at integer not null, person_id text, text text not null, decision text,
    counted_parts integer, containment text
  ) strict;
  create index alarm_entries_of_alarm on alarm_entries (alarm_id);

  -- Rows are added; withdrawn_at and withdrawn_because are set once.
  create table signals (
    id integer primary key, sample_no integer not null references samples (no), stream_id text not null,
    model_id text not null, taken_at integer not null, limits_version integer not null, chart text not null,
    rule text not null, side text not null, points text not null, first_point_at integer not null, sentence text not null,
    alarm_id integer references alarms (id), at integer not null, withdrawn_at integer, withdrawn_because text
  ) strict;
  create index signals_of_sample on signals (sample_no);
  create index signals_by_time on signals (stream_id, model_id, taken_at);
  create index signals_of_alarm on signals (alarm_id) where alarm_id is not null;

  create table events (
    no integer primary key, id blob not null unique, line_id text not null, station_id text, stream_id text,
    kind text not null, at integer not null, until integer, model_id text, lot text, text text not null,
    person_id text not null, recorded_at integer not null
  ) strict;
  create index events_by_time on events (line_id, at);
  create index events_by_kind on events (line_id, kind, at);
  -- The end of a stoppage that was recorded while it lasted.
  create table event_ends (
    event_no integer primary key references events (no), until integer not null,
    person_id text not null, recorded_at integer not null
  ) strict;

  create table missed_samples (
    stream_id text not null, due_at integer not null, reason text not null, person_id text not null,
    at integer not null,
    primary key (stream_id, due_at)
  ) strict, without rowid;
  `,
  `
  -- Samples that call for the product's sake, by the alarm that they raised or joined. A correction that leaves the
  -- sample so adds a row for its revision: a row counts while its revision is the newest. Rows are only ever added.
  create table outside_samples (
    alarm_id integer not null references alarms (id), sample_no integer not null references samples (no),
    revision integer not null,
    primary key (alarm_id, sample_no, revision)
  ) strict, without rowid;
  create index outside_samples_by_sample on outside_samples (sample_no);
  -- What took a signal's ground: 'correction' of values, or judging anew ('limits', 'late sample'), which checks no
  -- part. Null where it was withdrawn before this column.
  alter table signals add column withdrawn_by text;
  `,
];

export function migrate(database: Database.Database): void {
  const version = (): number => database.pragma('user_version', { simple: true }) as number;
  if (version() > migrations.length) {
    throw new Error(
      `The database has schema ${version()}, but this version of Runtrue knows only ${migrations.length}; start the newer version.`,
    );
  }
  while (version() < migrations.length) {
    // Immediate, and the version read inside: two processes that start together take one step each in turn.
    database
      .transaction(() => {
        const current = version();
        const step = migrations[current];
        if (step === undefined) return;
        database.exec(step);
        database.pragma(`user_version = ${current + 1}`);
      })
      .immediate();
  }
}
