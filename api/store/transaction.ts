import { AuditChain } from '../audit/audit-chain.ts';
import {
  type ChainedTable,
  type ChainedTableName,
  chainedTables,
  type StoredRow,
  type StoredValue,
} from '../audit/chained-tables.ts';
import { limitsInForceAt } from './limits-in-force.ts';
import { type PlantMemory, SqlReads, sampleById } from './reads.ts';
import { type Sql, valuesOf } from './sql.ts';
import {
  type AlarmEntryRow,
  type AlarmRow,
  type AuditNote,
  type ChartedSample,
  type EventRow,
  type LimitsRow,
  type MeasuredValues,
  type MissedRow,
  type NewRevision,
  type NewSample,
  type NewSignal,
  NO_STREAM,
  type NumberedTable,
  type PlantChangeRow,
  type SampleGrounds,
  type StoreTransaction,
  type Withdrawal,
} from './store.ts';
import type { Remembered, WriterMemory } from './stream-memory.ts';
import { uuidBytes } from './uuid.ts';

const json = (value: unknown): string | null => (value === null ? null : JSON.stringify(value));
const jsonOrNull = (list: readonly unknown[]): string | null =>
  list.length === 0 ? null : JSON.stringify(list);

const isGood = ({ questions, outsideSpecification }: MeasuredValues): 0 | 1 =>
  questions.length === 0 && outsideSpecification.length === 0 ? 1 : 0;

const savePlantRecord =
  'insert into plant_records (kind, id, body) values (?, ?, ?) on conflict (kind, id) do update set body = excluded.body';
const headNames = chainedTables.alarms.columns.filter((column) => column !== 'id');
const saveHead = `update alarms set (${headNames}) = (${headNames.map(() => '?')}) where id = ?`;

/** A whole row, or one without the number that the database gives it. */
const insert = (table: ChainedTableName, counted?: string): string => {
  const columns = chainedTables[table].columns.filter((column) => column !== counted);
  const statement = `insert into ${table} ${valuesOf(columns.join(', '))}`;
  return counted === undefined ? statement : `${statement} returning ${counted}`;
};
// Whole constants: a statement is found again by its text.
const inserts = {
  samples: insert('samples', 'no'),
  sample_revisions: insert('sample_revisions'),
  signals: insert('signals'),
  limits_versions: insert('limits_versions'),
  alarms: insert('alarms', 'id'),
  alarm_entries: insert('alarm_entries', 'no'),
  outside_samples: insert('outside_samples'),
  events: insert('events', 'no'),
  event_ends: insert('event_ends'),
  missed_samples: insert('missed_samples'),
  plant_changes: insert('plant_changes', 'no'),
  audit_notes: insert('audit_notes', 'no'),
  restarts: insert('restarts', 'no'),
  restart_entries: insert('restart_entries', 'no'),
  handovers: insert('handovers', 'no'),
  handover_ends: insert('handover_ends', 'no'),
  concessions: insert('concessions', 'no'),
  concession_entries: insert('concession_entries', 'no'),
};

const insertNumberedSample = insert('samples');

const measuredColumns = (values: MeasuredValues) => ({
  readings: json(values.readings),
  inspected: values.count?.inspected ?? null,
  nonconforming: values.count?.nonconforming ?? null,
  size: values.size,
  mean: values.mean,
  range: values.range,
  standard_deviation: values.standardDeviation,
  questions: jsonOrNull(values.questions),
  outside: jsonOrNull(values.outsideSpecification),
  good: isGood(values),
});

const headColumns = (head: Omit<AlarmRow, 'id'>) => ({
  stream_id: head.streamId,
  model_id: head.modelId,
  state: head.state,
  active: head.active ? 1 : 0,
  raised_at: head.raisedAt,
  acknowledged_at: head.acknowledgedAt,
  returned_to_normal_at: head.returnedToNormalAt,
  closed_at: head.closedAt,
  decision: head.decision,
  cause: head.cause,
  sentence: head.sentence,
});

/** What belongs to a sample besides its values. */
interface SampleKey {
  readonly no: number;
  readonly stream_id: string;
  readonly model_id: string;
  readonly taken_at: number;
}

/** As long as the longest run rule looks back. */
const TAIL = 16;

/** Writes over the writing connection, inside the transaction that is open on it. */
export class SqlTransaction extends SqlReads implements StoreTransaction {
  readonly #memory: WriterMemory;
  readonly #chain: AuditChain;

  constructor(sql: Sql, plant: PlantMemory, memory: WriterMemory) {
    super(sql, plant);
    this.#memory = memory;
    this.#chain = new AuditChain(memory);
  }

  /** Call when a transaction begins: `alone` says that nobody else has written since the last one ended. */
  begun(alone: boolean): void {
    this.plantChangedHere = false;
    if (!alone) this.#memory.forget();
  }

  /** Call before the commit: what was recorded goes into the chain of digests. */
  async finish(): Promise<void> {
    await this.#chain.seal(this.sql);
  }

  /** Call when a transaction was rolled back. */
  undone(): void {
    this.#memory.forget();
    this.#chain.undo();
  }

  /** Stores a row that the audit chain covers. */
  async #add<Name extends keyof typeof inserts>(
    chain: string,
    table: Name,
    row: StoredRow<Name>,
    statement = inserts[table],
  ): Promise<void> {
    const given = row as Readonly<Record<string, StoredValue>>;
    await this.sql.run(statement, ...chainedTables[table].columns.map((column) => given[column]));
    this.#chain.add(chain, table, row);
  }

  /** The same for a row that the database numbers. */
  async #addCounted<Name extends keyof typeof inserts, Counted extends 'no' | 'id'>(
    chain: string,
    table: Name,
    counted: Counted,
    row: Omit<StoredRow<Name>, Counted>,
  ): Promise<number> {
    const given = row as unknown as Readonly<Record<string, StoredValue>>;
    const values: StoredValue[] = [];
    for (const column of chainedTables[table].columns) if (column !== counted) values.push(given[column]!);
    const stored = await this.sql.one<Record<Counted, number>>(inserts[table], ...values);
    const number = stored![counted];
    this.#chain.add(chain, table, { ...given, [counted]: number });
    return number;
  }

  async adoptRecords(): Promise<void> {
    for (const table of Object.keys(chainedTables) as ChainedTableName[]) {
      const { columns, key, from = table, where }: ChainedTable = chainedTables[table];
      const condition = where === undefined ? '' : `where ${where}`;
      const columnsOfTable: readonly string[] =
        from === table ? columns : chainedTables[from as ChainedTableName].columns;
      const chain = columnsOfTable.includes('stream_id') && table !== 'events' ? 'stream_id' : `''`;
      const rows = await this.sql.all<Record<string, StoredValue> & { chain: string }>(
        `select ${columns.join(', ')}, ${chain} as chain from ${from} ${condition} order by ${key.join(', ')}`,
      );
      for (const { chain, ...row } of rows) this.#chain.add(chain, table, row);
      await this.#chain.seal(this.sql);
    }
  }

  async addNote({ at, personId, what, about, detail }: AuditNote): Promise<void> {
    await this.#addCounted(NO_STREAM, 'audit_notes', 'no', {
      at,
      person_id: personId,
      what,
      about,
      detail: JSON.stringify(detail),
    });
  }

  async addNumbered<Name extends NumberedTable>(
    table: Name,
    row: Omit<StoredRow<Name>, 'no'>,
  ): Promise<number> {
    return this.#addCounted(NO_STREAM, table, 'no', row);
  }

  async savePlantRecord(change: PlantChangeRow): Promise<void> {
    this.#memory.forget();
    this.plantChangedHere = true;
    const { kind, id } = change;
    const body = JSON.stringify(change.after);
    await this.sql.run(savePlantRecord, kind, id, body);
    this.#chain.add(NO_STREAM, 'plant_records', { kind, id, body });
    await this.#addCounted(NO_STREAM, 'plant_changes', 'no', {
      kind,
      id,
      before: json(change.before),
      after: body,
      reason: change.reason,
      person_id: change.personId,
      at: change.at,
      second_person_id: change.secondPersonId,
    });
  }

  async #recall(streamId: string, modelId: string): Promise<Remembered> {
    const { models } = this.#memory.of(streamId);
    let remembered = models.get(modelId);
    if (remembered === undefined) {
      const alarm = await this.openAlarm(streamId, modelId);
      remembered = {
        plant: await this.plantModel(),
        limits: await this.limitsVersions(streamId, modelId),
        activeAlarmId: alarm?.active ? alarm.id : null,
        tail: await super.newestCharted(streamId, modelId, TAIL),
      };
      models.set(modelId, remembered);
    }
    return remembered;
  }

  override async groundsFor(
    id: string,
    streamId: string,
    modelId: string,
    takenAt: number,
  ): Promise<SampleGrounds> {
    const { plant, limits, activeAlarmId } = await this.#recall(streamId, modelId);
    return {
      plant,
      earlierAnswer: await this.acceptedAnswer(id),
      limits: limitsInForceAt(limits, takenAt),
      activeAlarmId,
    };
  }

  override async newestCharted(
    streamId: string,
    modelId: string,
    limit: number,
  ): Promise<readonly ChartedSample[]> {
    if (limit > TAIL) return super.newestCharted(streamId, modelId, limit);
    return (await this.#recall(streamId, modelId)).tail.slice(-limit);
  }

  #lengthenTail({ streamId, modelId, takenAt, values }: NewSample, no: number): void {
    const { models } = this.#memory.of(streamId);
    const remembered = models.get(modelId);
    if (remembered === undefined) return;
    const last = remembered.tail.at(-1);
    if (last !== undefined && last.takenAt > takenAt) models.delete(modelId);
    else {
      const { size, mean, range, standardDeviation } = values;
      const sample = { no, takenAt, size, mean, range, standardDeviation };
      remembered.tail = [...remembered.tail.slice(1 - TAIL), sample];
    }
  }

  async addSample(sample: NewSample): Promise<number> {
    const row = {
      id: uuidBytes(sample.id),
      stream_id: sample.streamId,
      model_id: sample.modelId,
      taken_at: sample.takenAt,
      stored_at: sample.storedAt,
      person_id: sample.personId,
      door: sample.door,
      lot: sample.lot,
      note: sample.note,
      answer: JSON.stringify(sample.answer),
      ...measuredColumns(sample.values),
    };
    let no = this.nextSampleNo();
    if (no === null) no = await this.#addCounted(sample.streamId, 'samples', 'no', row);
    else await this.#add(sample.streamId, 'samples', { no, ...row }, insertNumberedSample);
    this.#lengthenTail(sample, no);
    return no;
  }

  /** Where an engine gives numbers out beforehand; null: with the row. */
  protected nextSampleNo(): number | null {
    return null;
  }

  async #sampleKey(id: string): Promise<SampleKey> {
    const key = await this.sql.one<SampleKey>(
      `select no, stream_id, model_id, taken_at from ${sampleById}`,
      uuidBytes(id),
    );
    if (key === null) throw new Error(`There is no sample ${id}.`);
    return key;
  }

  async addRevision(revision: NewRevision): Promise<void> {
    const { no, stream_id, model_id, taken_at } = await this.#sampleKey(revision.sampleId);
    this.#memory.of(stream_id).models.clear();
    await this.#add(stream_id, 'sample_revisions', {
      sample_no: no,
      revision: revision.revision,
      id: uuidBytes(revision.id),
      stream_id,
      model_id,
      taken_at,
      reason: revision.reason,
      person_id: revision.personId,
      at: revision.at,
      answer: JSON.stringify(revision.answer),
      ...measuredColumns(revision.values),
    });
  }

  async newSignalIds(count: number): Promise<readonly number[]> {
    const last = await this.sql.one<{ id: number }>('select coalesce(max(id), 0) as id from signals');
    return Array.from({ length: count }, (_, index) => last!.id + 1 + index);
  }

  async addSignal(signal: NewSignal): Promise<void> {
    const { no } = await this.#sampleKey(signal.sampleId);
    await this.#add(signal.streamId, 'signals', {
      id: signal.id,
      sample_no: no,
      stream_id: signal.streamId,
      model_id: signal.modelId,
      taken_at: signal.takenAt,
      limits_version: signal.limitsVersion,
      chart: signal.chart,
      rule: signal.rule,
      side: signal.side,
      points: JSON.stringify(signal.points),
      first_point_at: signal.firstPointAt,
      sentence: signal.sentence,
      alarm_id: signal.alarmId,
      at: signal.at,
    });
  }

  async withdrawSignal(id: number, at: number, { by, because }: Withdrawal): Promise<void> {
    const withdrawn = await this.sql.one<{ stream_id: string }>(
      `update signals set withdrawn_at = ?, withdrawn_because = ?, withdrawn_by = ?
       where id = ? and withdrawn_at is null returning stream_id`,
      at,
      because,
      by,
      id,
    );
    if (withdrawn === null) return;
    const row = { id, withdrawn_at: at, withdrawn_because: because, withdrawn_by: by };
    this.#chain.add(withdrawn.stream_id, 'signal_withdrawals', row);
  }

  async addLimits(limits: LimitsRow): Promise<void> {
    this.#memory.of(limits.streamId).models.delete(limits.modelId);
    await this.#add(limits.streamId, 'limits_versions', {
      stream_id: limits.streamId,
      model_id: limits.modelId,
      version: limits.version,
      status: limits.status,
      mean: limits.mean,
      within_subgroup_standard_deviation: limits.withinSubgroupStandardDeviation,
      mean_standard_deviation: limits.meanStandardDeviation,
      method: limits.method,
      baseline_from: limits.baselineFrom,
      baseline_to: limits.baselineTo,
      subgroups_used: limits.subgroupsUsed,
      readings_used: limits.readingsUsed,
      effective_from: limits.effectiveFrom,
      reason: limits.reason,
      signals_explained: limits.signalsExplained ? 1 : 0,
      person_id: limits.personId,
      at: limits.at,
      second_person_id: limits.secondPersonId,
    });
  }

  async addEvent(event: EventRow): Promise<void> {
    await this.#addCounted(NO_STREAM, 'events', 'no', {
      id: uuidBytes(event.id),
      line_id: event.lineId,
      station_id: event.stationId,
      stream_id: event.streamId,
      kind: event.kind,
      at: event.at,
      until: event.until,
      model_id: event.modelId,
      lot: event.lot,
      text: event.text,
      person_id: event.personId,
      recorded_at: event.recordedAt,
    });
  }

  async endEvent(id: string, until: number, personId: string, at: number): Promise<void> {
    const event = await this.sql.one<{ no: number }>('select no from event_ids where id = ?', uuidBytes(id));
    if (event === null) throw new Error(`There is no event ${id}.`);
    await this.#add(NO_STREAM, 'event_ends', {
      event_no: event.no,
      until,
      person_id: personId,
      recorded_at: at,
    });
  }

  async addMissedSample(missed: MissedRow): Promise<void> {
    await this.#add(missed.streamId, 'missed_samples', {
      stream_id: missed.streamId,
      due_at: missed.dueAt,
      reason: missed.reason,
      person_id: missed.personId,
      at: missed.at,
    });
  }

  async addAlarm(alarm: Omit<AlarmRow, 'id'>): Promise<number> {
    this.#memory.of(alarm.streamId).models.delete(alarm.modelId);
    return this.#addCounted(alarm.streamId, 'alarms', 'id', headColumns(alarm));
  }

  async addOutsideSample(alarmId: number, sampleId: string, revision: number): Promise<void> {
    const { no, stream_id } = await this.#sampleKey(sampleId);
    await this.#add(stream_id, 'outside_samples', { alarm_id: alarmId, sample_no: no, revision });
  }

  async keepOutsideSample(sampleId: string, revision: number): Promise<void> {
    const { no, stream_id } = await this.#sampleKey(sampleId);
    const alarms = await this.sql.all<{ alarm_id: number }>(
      'select alarm_id from outside_samples where sample_no = ? and revision = ? order by alarm_id',
      no,
      revision - 1,
    );
    for (const { alarm_id } of alarms) {
      await this.#add(stream_id, 'outside_samples', { alarm_id, sample_no: no, revision });
    }
  }

  async addAlarmEntry(entry: AlarmEntryRow, head: AlarmRow): Promise<void> {
    this.#memory.of(head.streamId).models.delete(head.modelId);
    await this.#addCounted(head.streamId, 'alarm_entries', 'no', {
      alarm_id: entry.alarmId,
      id: entry.id === null ? null : uuidBytes(entry.id),
      kind: entry.kind,
      at: entry.at,
      person_id: entry.personId,
      text: entry.text,
      decision: entry.decision,
      counted_parts: entry.countedParts,
      containment: json(entry.containment),
      second_person_id: entry.secondPersonId,
    });
    const row = headColumns(head);
    const given: Readonly<Record<string, StoredValue>> = row;
    await this.sql.run(saveHead, ...headNames.map((column) => given[column]), head.id);
    this.#chain.add(head.streamId, 'alarms', { id: head.id, ...row });
  }
}
