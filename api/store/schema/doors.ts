import type { SchemaStep } from './steps.ts';

/** What leaves and what came in by other doors than HTTP: deliveries, routing of alarms, refused measurements. */
export const doors: SchemaStep = (t) => `
  -- Shifts, recipients and rules, one document a record; each change is an audit note.
  create table routing_records (
    kind text not null, id text not null, body text not null,
    primary key (kind, id)
  ) ${t.strictByKey};
  create table webhook_secrets (
    recipient_id text primary key, secret text not null, previous text, previous_until ${t.integer}
  ) ${t.strict};

  -- Everything that leaves. A row is written together with what it tells of, and sent after the commit.
  create table deliveries (
    no ${t.counted}, id text not null unique, door text not null, recipient_id text, topic text,
    subject text not null, body text not null, created_at ${t.integer} not null, give_up_at ${t.integer} not null,
    due_at ${t.integer} not null, claimed_until ${t.integer} not null, attempts ${t.integer} not null,
    state text not null, problem text, finished_at ${t.integer}
  ) ${t.strict};
  create index waiting_deliveries on deliveries (due_at) where state = 'waiting';
  create index waiting_topics on deliveries (topic, no) where state = 'waiting' and topic is not null;
  create index deliveries_by_state on deliveries (state, no);

  -- Alarms of one line that a rule tells of together. step_due_at: when the next step is told, unless acknowledged.
  create table incidents (
    no ${t.counted}, rule_id text not null, line_id text not null, opened_at ${t.integer} not null,
    severity text not null, step ${t.integer} not null, step_due_at ${t.integer}
  ) ${t.strict};
  create index incidents_of_rule on incidents (rule_id, line_id, opened_at);
  create index due_incidents on incidents (step_due_at) where step_due_at is not null;
  create table incident_alarms (
    incident_no ${t.integer} not null references incidents (no), alarm_id ${t.integer} not null references alarms (id),
    at ${t.integer} not null, answered_at ${t.integer},
    primary key (incident_no, alarm_id)
  ) ${t.strictByKey};
  create index incident_alarms_of_alarm on incident_alarms (alarm_id);
  -- How often an alarm has called, and how severe it was, when it was last routed.
  create table routed_alarms (
    alarm_id ${t.integer} primary key references alarms (id), calls ${t.integer} not null, severity text not null
  ) ${t.strict};
  -- Which alarms came to which person, for the flood measure.
  create table told_people (
    no ${t.counted}, person_id text not null, alarm_id ${t.integer} not null, at ${t.integer} not null
  ) ${t.strict};
  create index told_people_by_time on told_people (at);
  create index alarm_entries_by_time on alarm_entries (at);

  -- Alarms that are shelved now; the record of it is in their entries.
  create table shelved_alarms (
    alarm_id ${t.integer} primary key references alarms (id), person_id text not null, reason text not null,
    since ${t.integer} not null, until ${t.integer} not null
  ) ${t.strict};

  -- Measurements that came by MQTT and could not be taken in. accepted_at: taken in later, after all.
  create table refused_measurements (
    no ${t.counted}, digest text not null unique, at ${t.integer} not null, topic text not null, person_id text,
    payload text not null, problem text not null, accepted_at ${t.integer}
  ) ${t.strict};
  create index open_refused_measurements on refused_measurements (no) where accepted_at is null;
`;
