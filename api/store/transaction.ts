import type { PlantModel } from '../schemas.ts';
import { limitsInForceAt } from './limits-in-force.ts';
import { SqlReads } from './reads.ts';
import { valuesOf } from './sql.ts';
import type {
  AlarmEntryRow,
  AlarmRow,
  ChartedSample,
  EventRow,
  LimitsRow,
  MeasuredValues,
  MissedRow,
  NewRevision,
  NewSample,
  NewSignal,
  PlantChangeRow,
  SampleGrounds,
  StoreTransaction,
  Withdrawal,
} from './store.ts';
import { uuidBytes } from './uuid.ts';

const json = (value: unknown): string | null => (value === null ? null : JSON.stringify(value));
const jsonOrNull = (list: readonly unknown[]): string | null =>
  list.length === 0 ? null : JSON.stringify(list);

const isGood = ({ questions, outsideSpecification }: MeasuredValues): 0 | 1 =>
  questions.length === 0 && outsideSpecification.length === 0 ? 1 : 0;

const valueNames =
  'readings, inspected, nonconforming, size, mean, range, standard_deviation, questions, outside, good';

const savePlantRecord =
  'insert into plant_records (kind, id, body) values (?, ?, ?) on conflict (kind, id) do update set body = excluded.body';
const addPlantChange = `insert into plant_changes ${valuesOf('kind, id, before, after, reason, person_id, at')}`;
const addSample = `insert into samples ${valuesOf(
  `id, stream_id, model_id, taken_at, stored_at, person_id, door, lot, note, answer, ${valueNames}`,
)} returning no`;
const addRevision = `insert into sample_revisions
  (sample_no, stream_id, model_id, taken_at, revision, id, reason, person_id, at, answer, ${valueNames})
  select no, stream_id, model_id, taken_at, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ? from samples where id = ?`;
const addSignal = `insert into signals (sample_no, id, stream_id, model_id, taken_at, limits_version, chart, rule,
  side, points, first_point_at, sentence, alarm_id, at)
  values ((select no from samples where id = ?), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`;
const addLimits = `insert into limits_versions ${valuesOf(
  `stream_id, model_id, version, status, mean, within_subgroup_standard_deviation, mean_standard_deviation,
   method, baseline_from, baseline_to, subgroups_used, readings_used, effective_from, reason, signals_explained,
   person_id, at`,
)}`;
const addEvent = `insert into events ${valuesOf(
  'id, line_id, station_id, stream_id, kind, at, until, model_id, lot, text, person_id, recorded_at',
)}`;
const headNames = `stream_id, model_id, state, active, raised_at, acknowledged_at, returned_to_normal_at, closed_at,
  decision, cause, sentence`;
const addAlarm = `insert into alarms ${valuesOf(headNames)} returning id`;
const saveHead = `update alarms set (${headNames}) = (${headNames.split(',').map(() => '?')}) where id = ?`;
const addEntry = `insert into alarm_entries ${valuesOf(
  'alarm_id, id, kind, at, person_id, text, decision, counted_parts, containment',
)}`;

const keyOf = (streamId: string, modelId: string): string => `${streamId} ${modelId}`;

/** In the order of `valueNames`. */
const measuredColumns = (values: MeasuredValues): unknown[] => [
  json(values.readings),
  values.count?.inspected ?? null,
  values.count?.nonconforming ?? null,
  values.size,
  values.mean,
  values.range,
  values.standardDeviation,
  jsonOrNull(values.questions),
  jsonOrNull(values.outsideSpecification),
  isGood(values),
];

const headColumns = (head: Omit<AlarmRow, 'id'>): unknown[] => [
  head.streamId,
  head.modelId,
  head.state,
  head.active ? 1 : 0,
  head.raisedAt,
  head.acknowledgedAt,
  head.returnedToNormalAt,
  head.closedAt,
  head.decision,
  head.cause,
  head.sentence,
];

/** What judging the next sample of a stream and model begins with. */
interface Remembered {
  readonly plant: PlantModel;
  readonly limits: readonly LimitsRow[];
  readonly activeAlarmId: number | null;
  /** The newest charted samples, oldest first. */
  tail: readonly ChartedSample[];
}

/** As long as the longest run rule looks back. */
const TAIL = 16;
const MOST_REMEMBERED = 5_000;

/** Writes over the writing connection, inside the transaction that is open on it. */
export class SqlTransaction extends SqlReads implements StoreTransaction {
  /**
   * By stream and model, as this connection last read or wrote it: reading it anew for every sample takes a third of
   * the time of storing one. It holds while nobody else has written, which each engine tells in its own way, and is
   * dropped with a transaction that fails and by every write that it does not follow.
   */
  readonly #remembered = new Map<string, Remembered>();

  /** Call when a transaction begins: `alone` says that nobody else has written since the last one ended. */
  begun(alone: boolean): void {
    this.plantChangedHere = false;
    if (!alone || this.#remembered.size > MOST_REMEMBERED) this.#remembered.clear();
  }

  /** Call when a transaction was rolled back. */
  undone(): void {
    this.#remembered.clear();
  }

  async savePlantRecord(change: PlantChangeRow): Promise<void> {
    this.#remembered.clear();
    this.plantChangedHere = true;
    const after = JSON.stringify(change.after);
    await this.sql.run(savePlantRecord, change.kind, change.id, after);
    await this.sql.run(
      addPlantChange,
      change.kind,
      change.id,
      json(change.before),
      after,
      change.reason,
      change.personId,
      change.at,
    );
  }

  async #recall(streamId: string, modelId: string): Promise<Remembered> {
    const key = keyOf(streamId, modelId);
    let remembered = this.#remembered.get(key);
    if (remembered === undefined) {
      const alarm = await this.openAlarm(streamId, modelId);
      remembered = {
        plant: await this.plantModel(),
        limits: await this.limitsVersions(streamId, modelId),
        activeAlarmId: alarm?.active ? alarm.id : null,
        tail: await super.newestCharted(streamId, modelId, TAIL),
      };
      this.#remembered.set(key, remembered);
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
    const remembered = this.#remembered.get(keyOf(streamId, modelId));
    if (remembered === undefined) return;
    const last = remembered.tail.at(-1);
    if (last !== undefined && last.takenAt > takenAt) this.#remembered.delete(keyOf(streamId, modelId));
    else {
      const { size, mean, range, standardDeviation } = values;
      const sample = { no, takenAt, size, mean, range, standardDeviation };
      remembered.tail = [...remembered.tail.slice(1 - TAIL), sample];
    }
  }

  async addSample(sample: NewSample): Promise<number> {
    const stored = await this.sql.one<{ no: number }>(
      addSample,
      uuidBytes(sample.id),
      sample.streamId,
      sample.modelId,
      sample.takenAt,
      sample.storedAt,
      sample.personId,
      sample.door,
      sample.lot,
      sample.note,
      JSON.stringify(sample.answer),
      ...measuredColumns(sample.values),
    );
    const { no } = stored!;
    this.#lengthenTail(sample, no);
    return no;
  }

  async addRevision(revision: NewRevision): Promise<void> {
    this.#remembered.clear();
    await this.sql.run(
      addRevision,
      revision.revision,
      uuidBytes(revision.id),
      revision.reason,
      revision.personId,
      revision.at,
      JSON.stringify(revision.answer),
      ...measuredColumns(revision.values),
      uuidBytes(revision.sampleId),
    );
  }

  async nextSignalId(): Promise<number> {
    const next = await this.sql.one<{ id: number }>('select coalesce(max(id), 0) + 1 as id from signals');
    return next!.id;
  }

  async addSignal(signal: NewSignal): Promise<void> {
    await this.sql.run(
      addSignal,
      uuidBytes(signal.sampleId),
      signal.id,
      signal.streamId,
      signal.modelId,
      signal.takenAt,
      signal.limitsVersion,
      signal.chart,
      signal.rule,
      signal.side,
      JSON.stringify(signal.points),
      signal.firstPointAt,
      signal.sentence,
      signal.alarmId,
      signal.at,
    );
  }

  async withdrawSignal(id: number, at: number, { by, because }: Withdrawal): Promise<void> {
    await this.sql.run(
      `update signals set withdrawn_at = ?, withdrawn_because = ?, withdrawn_by = ?
       where id = ? and withdrawn_at is null`,
      at,
      because,
      by,
      id,
    );
  }

  async addLimits(limits: LimitsRow): Promise<void> {
    this.#remembered.delete(keyOf(limits.streamId, limits.modelId));
    await this.sql.run(
      addLimits,
      limits.streamId,
      limits.modelId,
      limits.version,
      limits.status,
      limits.mean,
      limits.withinSubgroupStandardDeviation,
      limits.meanStandardDeviation,
      limits.method,
      limits.baselineFrom,
      limits.baselineTo,
      limits.subgroupsUsed,
      limits.readingsUsed,
      limits.effectiveFrom,
      limits.reason,
      limits.signalsExplained ? 1 : 0,
      limits.personId,
      limits.at,
    );
  }

  async addEvent(event: EventRow): Promise<void> {
    await this.sql.run(
      addEvent,
      uuidBytes(event.id),
      event.lineId,
      event.stationId,
      event.streamId,
      event.kind,
      event.at,
      event.until,
      event.modelId,
      event.lot,
      event.text,
      event.personId,
      event.recordedAt,
    );
  }

  async endEvent(id: string, until: number, personId: string, at: number): Promise<void> {
    await this.sql.run(
      `insert into event_ends (event_no, until, person_id, recorded_at)
       values ((select no from events where id = ?), ?, ?, ?)`,
      uuidBytes(id),
      until,
      personId,
      at,
    );
  }

  async addMissedSample(missed: MissedRow): Promise<void> {
    await this.sql.run(
      `insert into missed_samples ${valuesOf('stream_id, due_at, reason, person_id, at')}`,
      missed.streamId,
      missed.dueAt,
      missed.reason,
      missed.personId,
      missed.at,
    );
  }

  async addAlarm(alarm: Omit<AlarmRow, 'id'>): Promise<number> {
    this.#remembered.delete(keyOf(alarm.streamId, alarm.modelId));
    const stored = await this.sql.one<{ id: number }>(addAlarm, ...headColumns(alarm));
    return stored!.id;
  }

  async addOutsideSample(alarmId: number, sampleId: string, revision: number): Promise<void> {
    await this.sql.run(
      `insert into outside_samples (alarm_id, sample_no, revision)
       values (?, (select no from samples where id = ?), ?)`,
      alarmId,
      uuidBytes(sampleId),
      revision,
    );
  }

  async keepOutsideSample(sampleId: string, revision: number): Promise<void> {
    await this.sql.run(
      `insert into outside_samples (alarm_id, sample_no, revision)
       select alarm_id, sample_no, ? from outside_samples
       where sample_no = (select no from samples where id = ?) and revision = ?`,
      revision,
      uuidBytes(sampleId),
      revision - 1,
    );
  }

  async addAlarmEntry(entry: AlarmEntryRow, head: AlarmRow): Promise<void> {
    this.#remembered.delete(keyOf(head.streamId, head.modelId));
    await this.sql.run(
      addEntry,
      entry.alarmId,
      entry.id === null ? null : uuidBytes(entry.id),
      entry.kind,
      entry.at,
      entry.personId,
      entry.text,
      entry.decision,
      entry.countedParts,
      json(entry.containment),
    );
    await this.sql.run(saveHead, ...headColumns(head), head.id);
  }
}
