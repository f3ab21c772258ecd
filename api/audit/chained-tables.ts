/** A table whose rows the audit chain covers. */
export interface ChainedTable {
  /** What a row is found by. */
  readonly key: readonly string[];
  /** All that the digest covers, the key among it, in this order for ever. */
  readonly columns: readonly string[];
  /** Rows with nothing to cover are no records of it. */
  readonly where?: string;
  /** The row is written again and again, and only its newest state can be compared. */
  readonly rewritten?: true;
  /** Where it stands, if not in a table of that name. */
  readonly from?: string;
}

const values = [
  'readings',
  'inspected',
  'nonconforming',
  'size',
  'mean',
  'range',
  'standard_deviation',
  'questions',
  'outside',
  'good',
] as const;

/** Everything that is kept as evidence. */
export const chainedTables = {
  samples: {
    key: ['no'],
    columns: [
      'no',
      'id',
      'stream_id',
      'model_id',
      'taken_at',
      'stored_at',
      'person_id',
      'door',
      'lot',
      'note',
      'answer',
      ...values,
    ],
  },
  sample_revisions: {
    key: ['sample_no', 'revision'],
    columns: [
      'sample_no',
      'revision',
      'id',
      'stream_id',
      'model_id',
      'taken_at',
      'reason',
      'person_id',
      'at',
      'answer',
      ...values,
    ],
  },
  signals: {
    key: ['id'],
    columns: [
      'id',
      'sample_no',
      'stream_id',
      'model_id',
      'taken_at',
      'limits_version',
      'chart',
      'rule',
      'side',
      'points',
      'first_point_at',
      'sentence',
      'alarm_id',
      'at',
    ],
  },
  signal_withdrawals: {
    from: 'signals',
    where: 'withdrawn_at is not null',
    key: ['id'],
    columns: ['id', 'withdrawn_at', 'withdrawn_because', 'withdrawn_by'],
  },
  limits_versions: {
    key: ['stream_id', 'model_id', 'version'],
    columns: [
      'stream_id',
      'model_id',
      'version',
      'status',
      'mean',
      'within_subgroup_standard_deviation',
      'mean_standard_deviation',
      'method',
      'baseline_from',
      'baseline_to',
      'subgroups_used',
      'readings_used',
      'effective_from',
      'reason',
      'signals_explained',
      'person_id',
      'at',
      'second_person_id',
    ],
  },
  alarms: {
    rewritten: true,
    key: ['id'],
    columns: [
      'id',
      'stream_id',
      'model_id',
      'state',
      'active',
      'raised_at',
      'acknowledged_at',
      'returned_to_normal_at',
      'closed_at',
      'decision',
      'cause',
      'sentence',
    ],
  },
  alarm_entries: {
    key: ['no'],
    columns: [
      'no',
      'alarm_id',
      'id',
      'kind',
      'at',
      'person_id',
      'text',
      'decision',
      'counted_parts',
      'containment',
      'second_person_id',
    ],
  },
  outside_samples: {
    key: ['alarm_id', 'sample_no', 'revision'],
    columns: ['alarm_id', 'sample_no', 'revision'],
  },
  events: {
    key: ['no'],
    columns: [
      'no',
      'id',
      'line_id',
      'station_id',
      'stream_id',
      'kind',
      'at',
      'until',
      'model_id',
      'lot',
      'text',
      'person_id',
      'recorded_at',
    ],
  },
  event_ends: {
    key: ['event_no'],
    columns: ['event_no', 'until', 'person_id', 'recorded_at'],
  },
  missed_samples: {
    key: ['stream_id', 'due_at'],
    columns: ['stream_id', 'due_at', 'reason', 'person_id', 'at'],
  },
  plant_changes: {
    key: ['no'],
    columns: ['no', 'kind', 'id', 'before', 'after', 'reason', 'person_id', 'at', 'second_person_id'],
  },
  plant_records: {
    rewritten: true,
    key: ['kind', 'id'],
    columns: ['kind', 'id', 'body'],
  },
  handovers: {
    key: ['no'],
    columns: ['no', 'id', 'open', 'words', 'person_id', 'at'],
  },
  handover_ends: {
    key: ['no'],
    columns: ['no', 'id', 'handover_no', 'kind', 'words', 'opened_since', 'person_id', 'at'],
  },
  concessions: {
    key: ['no'],
    columns: [
      'no',
      'id',
      'alarm_id',
      'customer',
      'consent_document',
      'consented_by',
      'consented_on',
      'quantity',
      'expires_on',
      'expires_at',
      'reason',
      'person_id',
      'at',
    ],
  },
  concession_entries: {
    key: ['no'],
    columns: ['no', 'id', 'concession_no', 'kind', 'quantity', 'text', 'person_id', 'at'],
  },
  restarts: {
    key: ['no'],
    columns: [
      'no',
      'id',
      'line_id',
      'station_id',
      'kind',
      'at',
      'model_id',
      'plan',
      'overtakes',
      'unapproved_since',
      'person_id',
      'recorded_at',
    ],
  },
  restart_entries: {
    key: ['no'],
    columns: ['no', 'restart_no', 'id', 'kind', 'at', 'person_id', 'text', 'results'],
  },
  audit_notes: {
    key: ['no'],
    columns: ['no', 'at', 'person_id', 'what', 'about', 'detail'],
  },
} as const satisfies Record<string, ChainedTable>;

export type ChainedTableName = keyof typeof chainedTables;

/** A value as a database holds it. */
export type StoredValue = string | number | Buffer | null;

/** One value for each column of the table. */
export type StoredRow<Name extends ChainedTableName> = {
  readonly [K in (typeof chainedTables)[Name]['columns'][number]]: StoredValue;
};
