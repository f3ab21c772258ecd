import type { EventKind, PlantModel, PlantRecordKind, SampleAnswer } from '../schemas.ts';
import { limitsInForceAt } from './limits-in-force.ts';
import type { Sql } from './sql.ts';
import type {
  AlarmEntryRow,
  AlarmQuery,
  AlarmRow,
  ChartedSample,
  CorrectionRow,
  EventRow,
  FoundSample,
  LimitsRow,
  MeasuredValues,
  MissedRow,
  OutsideSpan,
  Period,
  PlantChangeRow,
  RevisionRow,
  SampleGrounds,
  SamplePlace,
  SampleRow,
  SignalRow,
  SignalSpan,
  StoreReads,
} from './store.ts';
import { uuidBytes, uuidText } from './uuid.ts';

type Stored<Row, Bytes extends keyof Row, Json extends keyof Row = never> = Omit<Row, Bytes | Json> & {
  readonly [K in Bytes]: Buffer;
} & { readonly [K in Json]: string };

interface StoredValues {
  readonly readings: string | null;
  readonly inspected: number | null;
  readonly nonconforming: number | null;
  readonly size: number;
  readonly mean: number | null;
  readonly range: number | null;
  readonly standardDeviation: number | null;
  readonly questions: string | null;
  readonly outside: string | null;
}
type StoredSample = StoredValues &
  Stored<Omit<SampleRow, keyof MeasuredValues | 'revision' | 'limitsVersion'>, 'id'>;
type StoredRevision = StoredValues & { readonly sampleNo: number; readonly revision: number };
type StoredAlarm = Omit<AlarmRow, 'active'> & { readonly active: 0 | 1 };

const valueColumns = `readings, inspected, nonconforming, size, mean, range,
  standard_deviation as "standardDeviation", questions, outside`;
const sampleColumns = `no, id, stream_id as "streamId", model_id as "modelId", taken_at as "takenAt",
  stored_at as "storedAt", person_id as "personId", door, lot, note, ${valueColumns}`;
// Where samples lie by month, an id tells the month first.
export const sampleById = `(select no, taken_at from sample_ids where id = ?) as place
  join samples using (no, taken_at)`;
const signalSelect = `select signals.id, sample_no as "sampleNo", sample_ids.id as "sampleId", stream_id as "streamId",
  model_id as "modelId", signals.taken_at as "takenAt", limits_version as "limitsVersion", chart, rule, side,
  points,
  first_point_at as "firstPointAt", sentence, alarm_id as "alarmId", at, withdrawn_at as "withdrawnAt", withdrawn_because as "withdrawnBecause"
  from signals join sample_ids on sample_ids.no = signals.sample_no and sample_ids.taken_at = signals.taken_at`;
const limitsVersionsSelect = `select stream_id as "streamId", model_id as "modelId", version, status, mean,
  within_subgroup_standard_deviation as "withinSubgroupStandardDeviation",
  mean_standard_deviation as "meanStandardDeviation", method, baseline_from as "baselineFrom",
  baseline_to as "baselineTo", subgroups_used as "subgroupsUsed", readings_used as "readingsUsed",
  effective_from as "effectiveFrom", reason, signals_explained as "signalsExplained", person_id as "personId",
  second_person_id as "secondPersonId", at
  from limits_versions where stream_id = ? and model_id = ? order by version`;
const eventsFrom = (
  source: string,
): string => `select id, line_id as "lineId", station_id as "stationId", stream_id as "streamId", kind, at,
  coalesce(events.until, event_ends.until) as until, model_id as "modelId", lot, text,
  events.person_id as "personId", events.recorded_at as "recordedAt"
  from ${source} left join event_ends on event_ends.event_no = events.no`;
const eventSelect = eventsFrom('events');
const eventById = eventsFrom(
  '(select no, at from event_ids where id = ?) as place join events using (no, at)',
);
const alarmSelect = `select id, stream_id as "streamId", model_id as "modelId", state, active, raised_at as "raisedAt",
  acknowledged_at as "acknowledgedAt", returned_to_normal_at as "returnedToNormalAt", closed_at as "closedAt",
  decision, cause, sentence from alarms`;
const entrySelect = `select id, alarm_id as "alarmId", kind, at, person_id as "personId", text, decision,
  counted_parts as "countedParts", containment, second_person_id as "secondPersonId" from alarm_entries`;
const missedSelect = `select stream_id as "streamId", due_at as "dueAt", reason, person_id as "personId", at
  from missed_samples where stream_id = ?`;
const ofThisSample = 'sample_no = samples.no and sample_revisions.taken_at = samples.taken_at';
const newestRevision = `coalesce((select max(revision) from sample_revisions where ${ofThisSample}), 1)`;
// Judging anew checks no part: only a correction takes the suspicion away that a signal has cast.
const suspicious = "(withdrawn_at is null or withdrawn_by in ('limits', 'late sample'))";
// A sample verified good, by its newest revision.
const goodSelect = `select no, id, taken_at as "takenAt" from samples
  where stream_id = ? and model_id = ? and taken_at between ? and ?
  and coalesce((select good from sample_revisions where ${ofThisSample} order by revision desc limit 1), good) = 1
  and not exists (select 1 from signals where sample_no = no and signals.taken_at = samples.taken_at
    and ${suspicious} and coalesce(withdrawn_at, ?) >= ?)
  and not exists (select 1 from outside_samples where sample_no = no and revision = ${newestRevision})`;

const acceptedAnswerSelect = `select answer from ${sampleById}`;
const chartedColumns = 'taken_at as "takenAt", size, mean, range, standard_deviation as "standardDeviation"';
// Whole constants: a statement is found again by its text, and a text put together anew is compared letter by letter.
const chartedOf = `select no, ${chartedColumns} from samples where stream_id = ? and model_id = ?`;
const newestChartedSelect = `${chartedOf} order by taken_at desc, no desc limit ?`;
const chartedSelect = `${chartedOf} and taken_at between ? and ? order by taken_at desc, no desc limit ?`;
const chartedBeforeSelect = `${chartedOf} and (taken_at, no) < (?, ?) order by taken_at desc, no desc limit ?`;
const chartedAfterSelect = `${chartedOf} and (taken_at, no) > (?, ?) order by taken_at, no limit ?`;
const chartedRevisions = `select sample_no as no, ${chartedColumns} from sample_revisions
  where stream_id = ? and model_id = ? and taken_at between ? and ? order by taken_at, sample_no, revision`;
const parse = <T>(text: string | null, empty: T): T => (text === null ? empty : (JSON.parse(text) as T));

const measured = (row: StoredValues): MeasuredValues => ({
  readings: parse(row.readings, null),
  count:
    row.inspected === null || row.nonconforming === null
      ? null
      : { inspected: row.inspected, nonconforming: row.nonconforming },
  size: row.size,
  mean: row.mean,
  range: row.range,
  standardDeviation: row.standardDeviation,
  questions: parse(row.questions, []),
  outsideSpecification: parse(row.outside, []),
});

const signalRow = (row: Stored<SignalRow, 'sampleId', 'points'>): SignalRow => ({
  ...row,
  sampleId: uuidText(row.sampleId),
  points: JSON.parse(row.points) as string[],
});
const eventRow = (row: Stored<EventRow, 'id'>): EventRow => ({ ...row, id: uuidText(row.id) });
const alarmRow = (row: StoredAlarm): AlarmRow => ({ ...row, active: row.active === 1 });
const entryRow = (
  row: Omit<AlarmEntryRow, 'id' | 'containment'> & { id: Buffer | null; containment: string | null },
): AlarmEntryRow => ({
  ...row,
  id: row.id === null ? null : uuidText(row.id),
  containment: parse(row.containment, null),
});

const noPlant: PlantModel['plant'] = { name: '', utcOffsetMinutes: 0 };

/** The plant as last read, shared by the connections of one database; its revision says whether it still holds. */
export interface PlantMemory {
  revision: number;
  model: PlantModel;
}

/** Every query, over one connection. */
export class SqlReads implements StoreReads {
  readonly sql: Sql;
  /** The transaction on this connection has changed the plant: what it reads of it must not outlive it. */
  protected plantChangedHere = false;
  readonly #plant: PlantMemory;
  /** Numbers of samples that a plant from another engine has left out; null: not counted yet. */
  #unusedNumbers: number | null = null;

  constructor(sql: Sql, plant: PlantMemory) {
    this.sql = sql;
    this.#plant = plant;
  }

  async plantRevision(): Promise<number> {
    const row = await this.sql.one<{ revision: number }>(
      'select coalesce(max(no), 0) as revision from plant_changes',
    );
    return row!.revision;
  }

  async plantModel(): Promise<PlantModel> {
    const revision = await this.plantRevision();
    if (revision === this.#plant.revision) return this.#plant.model;
    const model: PlantModel = {
      plant: noPlant,
      people: [],
      lines: [],
      stations: [],
      models: [],
      characteristics: [],
      specifications: [],
      streams: [],
      plans: [],
    };
    const rows = await this.sql.all<{ kind: PlantRecordKind | 'plant'; body: string }>(
      'select kind, body from plant_records order by kind, id',
    );
    for (const { kind, body } of rows) {
      if (kind === 'plant') model.plant = JSON.parse(body);
      else model[kind].push(JSON.parse(body));
    }
    if (!this.plantChangedHere) Object.assign(this.#plant, { revision, model });
    return model;
  }

  async plantChanges(kind: PlantChangeRow['kind'], id: string): Promise<readonly PlantChangeRow[]> {
    const rows = await this.sql.all<PlantChangeRow & { before: string | null; after: string }>(
      `select kind, id, before, after, reason, person_id as "personId", second_person_id as "secondPersonId", at
       from plant_changes where kind = ? and id = ? order by no`,
      kind,
      id,
    );
    return rows.map((row) => ({ ...row, before: parse(row.before, null), after: JSON.parse(row.after) }));
  }

  async sampleCount(): Promise<number> {
    // Counting ten million rows takes a second, so it is done once: each next sample takes the next number.
    if (this.#unusedNumbers === null) {
      const counted = await this.sql.one<{ last: number; count: number }>(
        'select coalesce(max(no), 0) as last, count(*) as count from samples',
      );
      this.#unusedNumbers = counted!.last - counted!.count;
    }
    const row = await this.sql.one<{ last: number }>('select coalesce(max(no), 0) as last from samples');
    return row!.last - this.#unusedNumbers;
  }

  async sample(id: string): Promise<SampleRow | null> {
    const row = await this.sql.one<StoredSample>(`select ${sampleColumns} from ${sampleById}`, uuidBytes(id));
    return row === null ? null : ((await this.#asTheyReadNow([row]))[0] ?? null);
  }

  async acceptedAnswer(id: string): Promise<SampleAnswer | null> {
    const row = await this.sql.one<{ answer: string }>(acceptedAnswerSelect, uuidBytes(id));
    return row === null ? null : JSON.parse(row.answer);
  }

  async newestAnswer(id: string): Promise<SampleAnswer | null> {
    const row = await this.sql.one<{ answer: string }>(
      `select coalesce((select answer from sample_revisions where ${ofThisSample}
         order by revision desc limit 1), answer) as answer
       from ${sampleById}`,
      uuidBytes(id),
    );
    return row === null ? null : JSON.parse(row.answer);
  }

  async revisions(sampleId: string): Promise<readonly RevisionRow[]> {
    const rows = await this.sql.all<StoredValues & Omit<RevisionRow, keyof MeasuredValues>>(
      `select 1 as revision, null as reason, person_id as "personId", stored_at as at, ${valueColumns}
       from ${sampleById}
       union all
       select revision, reason, person_id as "personId", at, ${valueColumns}
       from (select no as sample_no, taken_at from sample_ids where id = ?) as place
         join sample_revisions using (sample_no, taken_at)
       order by revision`,
      uuidBytes(sampleId),
      uuidBytes(sampleId),
    );
    return rows.map((row) => ({
      ...measured(row),
      revision: row.revision,
      reason: row.reason,
      personId: row.personId,
      at: row.at,
    }));
  }

  async correction(id: string): Promise<CorrectionRow | null> {
    const row = await this.sql.one<
      StoredValues & { sampleId: Buffer; revision: number; reason: string; answer: string }
    >(
      `select sample_ids.id as "sampleId", revision, reason, answer, ${valueColumns}
       from (select sample_no, revision, taken_at from revision_ids where id = ?) as place
         join sample_revisions using (sample_no, revision, taken_at)
         join sample_ids on sample_ids.no = sample_no`,
      uuidBytes(id),
    );
    if (row === null) return null;
    const { revision, reason } = row;
    const sampleId = uuidText(row.sampleId);
    return { ...measured(row), sampleId, revision, reason, answer: JSON.parse(row.answer) };
  }

  async samples(streamId: string, modelId: string, period: Period, limit: number): Promise<SampleRow[]> {
    const rows = await this.sql.all<StoredSample>(
      `select ${sampleColumns} from samples
       where stream_id = ? and model_id = ? and taken_at between ? and ?
       order by taken_at desc, no desc limit ?`,
      streamId,
      modelId,
      period.from,
      period.to,
      limit,
    );
    return this.#asTheyReadNow(rows.reverse());
  }

  async samplesAfter(streamId: string, no: number, limit: number): Promise<SampleRow[]> {
    // By the primary key: no index of its own, which every sample would pay for.
    const rows = await this.sql.all<StoredSample>(
      `select ${sampleColumns} from samples where stream_id = ? and no > ? order by no limit ?`,
      streamId,
      no,
      limit,
    );
    const samples: SampleRow[] = [];
    for (const row of rows) samples.push(...(await this.#asTheyReadNow([row])));
    return samples;
  }

  /** Puts the newest revision and the version of the limits to samples of one stream and model, oldest first. */
  async #asTheyReadNow(rows: readonly StoredSample[]): Promise<SampleRow[]> {
    const first = rows[0];
    if (first === undefined) return [];
    const revised = new Map<number, StoredRevision>();
    for (const revision of await this.sql.all<StoredRevision>(
      `select sample_no as "sampleNo", revision, ${valueColumns} from sample_revisions
       where stream_id = ? and model_id = ? and taken_at between ? and ?
       order by taken_at, sample_no, revision`,
      first.streamId,
      first.modelId,
      first.takenAt,
      rows.at(-1)!.takenAt,
    )) {
      revised.set(revision.sampleNo, revision);
    }
    const versions = await this.limitsVersions(first.streamId, first.modelId);
    return rows.map((row) => {
      const revision = revised.get(row.no);
      return {
        no: row.no,
        id: uuidText(row.id),
        streamId: row.streamId,
        modelId: row.modelId,
        takenAt: row.takenAt,
        storedAt: row.storedAt,
        personId: row.personId,
        door: row.door,
        lot: row.lot,
        note: row.note,
        ...measured(revision ?? row),
        revision: revision?.revision ?? 1,
        limitsVersion: limitsInForceAt(versions, row.takenAt)?.version ?? null,
      };
    });
  }

  async groundsFor(id: string, streamId: string, modelId: string, takenAt: number): Promise<SampleGrounds> {
    const alarm = await this.openAlarm(streamId, modelId);
    return {
      plant: await this.plantModel(),
      earlierAnswer: await this.acceptedAnswer(id),
      limits: await this.limitsAt(streamId, modelId, takenAt),
      activeAlarmId: alarm?.active ? alarm.id : null,
    };
  }

  async newestCharted(streamId: string, modelId: string, limit: number): Promise<readonly ChartedSample[]> {
    const rows = await this.sql.all<ChartedSample>(newestChartedSelect, streamId, modelId, limit);
    return this.#chartedNow(streamId, modelId, rows.reverse());
  }

  async chartedSamples(
    streamId: string,
    modelId: string,
    { from, to }: Period,
    limit: number,
  ): Promise<readonly ChartedSample[]> {
    const rows = await this.sql.all<ChartedSample>(chartedSelect, streamId, modelId, from, to, limit);
    return this.#chartedNow(streamId, modelId, rows.reverse());
  }

  async chartedSamplesBefore(
    streamId: string,
    modelId: string,
    { takenAt, no }: SamplePlace,
    limit: number,
  ): Promise<readonly ChartedSample[]> {
    const rows = await this.sql.all<ChartedSample>(
      chartedBeforeSelect,
      streamId,
      modelId,
      takenAt,
      no,
      limit,
    );
    return this.#chartedNow(streamId, modelId, rows.reverse());
  }

  async chartedSamplesAfter(
    streamId: string,
    modelId: string,
    { takenAt, no }: SamplePlace,
    limit: number,
  ): Promise<readonly ChartedSample[]> {
    const rows = await this.sql.all<ChartedSample>(chartedAfterSelect, streamId, modelId, takenAt, no, limit);
    return this.#chartedNow(streamId, modelId, rows);
  }

  /** Puts the newest revisions in. */
  async #chartedNow(
    streamId: string,
    modelId: string,
    rows: readonly ChartedSample[],
  ): Promise<readonly ChartedSample[]> {
    const first = rows[0];
    if (first === undefined) return rows;
    const [from, to] = [first.takenAt, rows.at(-1)!.takenAt];
    const revisions = await this.sql.all<ChartedSample>(chartedRevisions, streamId, modelId, from, to);
    if (revisions.length === 0) return rows;
    const revised = new Map(revisions.map((row) => [row.no, row]));
    return rows.map((row) => revised.get(row.no) ?? row);
  }

  async sampleIds(nos: readonly number[]): Promise<readonly string[]> {
    const ids: string[] = [];
    for (const no of nos) {
      const row = await this.sql.one<{ id: Buffer }>('select id from sample_ids where no = ?', no);
      ids.push(uuidText(row!.id));
    }
    return ids;
  }

  async latestSample(streamId: string): Promise<SampleRow | null> {
    let latest: StoredSample | null = null;
    // One step into the index for each model, however many samples there are.
    for (const model of (await this.plantModel()).models) {
      const row = await this.sql.one<StoredSample>(
        `select ${sampleColumns} from samples where stream_id = ? and model_id = ?
         order by taken_at desc, no desc limit 1`,
        streamId,
        model.id,
      );
      if (row === null) continue;
      if (
        latest === null ||
        row.takenAt > latest.takenAt ||
        (row.takenAt === latest.takenAt && row.no > latest.no)
      ) {
        latest = row;
      }
    }
    return latest === null ? null : ((await this.#asTheyReadNow([latest]))[0] ?? null);
  }

  async takenTimes(
    streamId: string,
    period: Period,
  ): Promise<{ sampleId: string; modelId: string; takenAt: number }[]> {
    const times: { no: number; sampleId: string; modelId: string; takenAt: number }[] = [];
    for (const model of (await this.plantModel()).models) {
      for (const row of await this.sql.all<{ no: number; id: Buffer; takenAt: number }>(
        `select no, id, taken_at as "takenAt" from samples
         where stream_id = ? and model_id = ? and taken_at between ? and ?`,
        streamId,
        model.id,
        period.from,
        period.to,
      )) {
        times.push({ no: row.no, sampleId: uuidText(row.id), modelId: model.id, takenAt: row.takenAt });
      }
    }
    times.sort((a, b) => a.takenAt - b.takenAt || a.no - b.no);
    return times.map(({ sampleId, modelId, takenAt }) => ({ sampleId, modelId, takenAt }));
  }

  async lastGoodSample(
    streamId: string,
    modelId: string,
    period: Period,
    since: number,
  ): Promise<FoundSample | null> {
    return this.#good('order by taken_at desc, no desc limit 1', streamId, modelId, period, since);
  }

  async firstGoodSample(
    streamId: string,
    modelId: string,
    period: Period,
    since: number,
  ): Promise<FoundSample | null> {
    return this.#good('order by taken_at, no limit 1', streamId, modelId, period, since);
  }

  async #good(
    order: string,
    streamId: string,
    modelId: string,
    period: Period,
    since: number,
  ): Promise<FoundSample | null> {
    const row = await this.sql.one<Stored<FoundSample, 'id'>>(
      `${goodSelect} ${order}`,
      streamId,
      modelId,
      period.from,
      period.to,
      since,
      since,
    );
    return row === null ? null : { no: row.no, id: uuidText(row.id), takenAt: row.takenAt };
  }

  async lotsOfSamples(
    streamId: string,
    modelId: string,
    period: Period,
  ): Promise<{ lot: string; takenAt: number }[]> {
    return this.sql.all(
      `select lot, taken_at as "takenAt" from samples
       where stream_id = ? and model_id = ? and taken_at between ? and ? and lot is not null
       order by taken_at, no`,
      streamId,
      modelId,
      period.from,
      period.to,
    );
  }

  async signalsOfSample(sampleId: string): Promise<SignalRow[]> {
    const rows = await this.sql.all<Stored<SignalRow, 'sampleId', 'points'>>(
      `${signalSelect} where sample_ids.id = ? order by signals.id`,
      uuidBytes(sampleId),
    );
    return rows.map(signalRow);
  }

  async signals(streamId: string, modelId: string, period: Period): Promise<SignalRow[]> {
    const rows = await this.sql.all<Stored<SignalRow, 'sampleId', 'points'>>(
      `${signalSelect} where stream_id = ? and model_id = ?
       and signals.taken_at between ? and ? order by signals.taken_at, signals.id`,
      streamId,
      modelId,
      period.from,
      period.to,
    );
    return rows.map(signalRow);
  }

  async signalsAfter(streamId: string, id: number, limit: number): Promise<SignalRow[]> {
    const rows = await this.sql.all<Stored<SignalRow, 'sampleId', 'points'>>(
      `${signalSelect} where stream_id = ? and signals.id > ? order by signals.id limit ?`,
      streamId,
      id,
      limit,
    );
    return rows.map(signalRow);
  }

  async signalsOfAlarm(alarmId: number): Promise<SignalRow[]> {
    const rows = await this.sql.all<Stored<SignalRow, 'sampleId', 'points'>>(
      `${signalSelect} where alarm_id = ? order by signals.id`,
      alarmId,
    );
    return rows.map(signalRow);
  }

  async signalSpanOfAlarm(alarmId: number): Promise<SignalSpan> {
    const span = await this.sql.one<SignalSpan>(
      `select count(*) as count, min(first_point_at) filter (where ${suspicious}) as "firstPointAt",
       max(taken_at) filter (where ${suspicious}) as "lastAt" from signals where alarm_id = ?`,
      alarmId,
    );
    return span!;
  }

  async outsideSpanOfAlarm(alarmId: number): Promise<OutsideSpan> {
    const span = await this.sql.one<OutsideSpan>(
      `select count(*) as count, min(taken_at) as "firstAt", max(taken_at) as "lastAt"
       from outside_samples join sample_ids as samples on samples.no = outside_samples.sample_no
       where alarm_id = ? and revision = ${newestRevision}`,
      alarmId,
    );
    return span!;
  }

  async limitsVersions(streamId: string, modelId: string): Promise<LimitsRow[]> {
    const rows = await this.sql.all<Omit<LimitsRow, 'signalsExplained'> & { signalsExplained: number }>(
      limitsVersionsSelect,
      streamId,
      modelId,
    );
    return rows.map((row) => ({ ...row, signalsExplained: row.signalsExplained === 1 }));
  }

  async limitsAt(streamId: string, modelId: string, at: number): Promise<LimitsRow | null> {
    return limitsInForceAt(await this.limitsVersions(streamId, modelId), at);
  }

  async event(id: string): Promise<EventRow | null> {
    const row = await this.sql.one<Stored<EventRow, 'id'>>(eventById, uuidBytes(id));
    return row === null ? null : eventRow(row);
  }

  async events(lineId: string, period: Period): Promise<EventRow[]> {
    const rows = await this.sql.all<Stored<EventRow, 'id'>>(
      `${eventSelect} where line_id = ? and at between ? and ?
       union all
       ${eventSelect} where line_id = ? and kind = 'stoppage' and at < ?
         and (coalesce(events.until, event_ends.until) is null
              or coalesce(events.until, event_ends.until) > ?)
       order by at, "recordedAt"`,
      lineId,
      period.from,
      period.to,
      lineId,
      period.from,
      period.from,
    );
    return rows.map(eventRow);
  }

  async eventsAfter(lineId: string, no: number, limit: number): Promise<(EventRow & { no: number })[]> {
    const rows = await this.sql.all<Stored<EventRow, 'id'> & { no: number }>(
      `${eventSelect.replace('select id', 'select events.no as no, id')} where line_id = ? and events.no > ?
       order by events.no limit ?`,
      lineId,
      no,
      limit,
    );
    return rows.map((row) => ({ ...eventRow(row), no: row.no }));
  }

  async latestEvent(lineId: string, kind: EventKind, at: number): Promise<EventRow | null> {
    const row = await this.sql.one<Stored<EventRow, 'id'>>(
      `${eventSelect} where line_id = ? and kind = ? and at <= ? order by at desc, no desc limit 1`,
      lineId,
      kind,
      at,
    );
    return row === null ? null : eventRow(row);
  }

  async missedSample(streamId: string, dueAt: number): Promise<MissedRow | null> {
    return this.sql.one<MissedRow>(`${missedSelect} and due_at = ?`, streamId, dueAt);
  }

  async missedSamples(streamId: string, period: Period): Promise<readonly MissedRow[]> {
    return this.sql.all<MissedRow>(
      `${missedSelect} and due_at between ? and ? order by due_at`,
      streamId,
      period.from,
      period.to,
    );
  }

  async alarms(query: AlarmQuery): Promise<AlarmRow[]> {
    const conditions: string[] = [];
    const parameters: unknown[] = [];
    const where = (condition: string, ...values: unknown[]) => {
      conditions.push(condition);
      parameters.push(...values);
    };
    if (query.open !== undefined) where(`closed_at is ${query.open ? 'null' : 'not null'}`);
    if (query.streamId !== undefined) where('stream_id = ?', query.streamId);
    if (query.afterId !== undefined) where('id > ?', query.afterId);
    if (query.modelId !== undefined) where('model_id = ?', query.modelId);
    if (query.period !== undefined) where('raised_at between ? and ?', query.period.from, query.period.to);
    const condition = conditions.length === 0 ? '' : `where ${conditions.join(' and ')}`;
    const rows = await this.sql.all<StoredAlarm>(
      `${alarmSelect} ${condition} order by ${query.afterId === undefined ? 'raised_at desc, id desc' : 'id'} limit ?`,
      ...parameters,
      query.limit,
    );
    return rows.map(alarmRow);
  }

  async alarm(id: number): Promise<AlarmRow | null> {
    const row = await this.sql.one<StoredAlarm>(`${alarmSelect} where id = ?`, id);
    return row === null ? null : alarmRow(row);
  }

  async openAlarm(streamId: string, modelId: string): Promise<AlarmRow | null> {
    const row = await this.sql.one<StoredAlarm>(
      `${alarmSelect} where stream_id = ? and model_id = ? and closed_at is null`,
      streamId,
      modelId,
    );
    return row === null ? null : alarmRow(row);
  }

  async alarmEntries(alarmId: number): Promise<AlarmEntryRow[]> {
    const rows = await this.sql.all<Parameters<typeof entryRow>[0]>(
      `${entrySelect} where alarm_id = ? order by no`,
      alarmId,
    );
    return rows.map(entryRow);
  }

  async alarmEntry(id: string): Promise<AlarmEntryRow | null> {
    const row = await this.sql.one<Parameters<typeof entryRow>[0]>(
      `${entrySelect} where id = ?`,
      uuidBytes(id),
    );
    return row === null ? null : entryRow(row);
  }
}
