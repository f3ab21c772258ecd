/**
 * What the API asks of a database, in the words of the plant. Asynchronous throughout and free of anything that
 * only one engine can do, so that another engine can pass the same tests. Times are epoch milliseconds.
 */
import type { RunRuleName } from '../../src/run-rules/run-rule.ts';
import type { StoredRow } from '../audit/chained-tables.ts';
import type {
  AlarmDecision,
  AlarmEntry,
  AlarmState,
  CountedParts,
  EventKind,
  LimitsVersion,
  PlantModel,
  PlantRecordKind,
  Question,
  Reading,
  Sample,
  SampleAnswer,
  Signal,
} from '../schemas.ts';
import type { Sql } from './sql.ts';

/** From and to are both included. */
export interface Period {
  readonly from: number;
  readonly to: number;
}

export type Door = Sample['door'];

/** A change of the plant itself. `before` is null for a new record. */
export interface PlantChangeRow {
  readonly kind: PlantRecordKind | 'plant';
  /** Of a specification: characteristic/model; of a plan: its stream; of the plant: "plant". */
  readonly id: string;
  readonly before: unknown;
  readonly after: unknown;
  readonly reason: string;
  readonly personId: string;
  /** Who signed with them; null where one signature is enough. */
  readonly secondPersonId: string | null;
  readonly at: number;
}

/** What was measured, and what follows from it alone. */
export interface MeasuredValues {
  readonly readings: readonly Reading[] | null;
  readonly count: CountedParts | null;
  /** Readings present; 0 for a count. */
  readonly size: number;
  readonly mean: number | null;
  readonly range: number | null;
  readonly standardDeviation: number | null;
  readonly questions: readonly Question[];
  /** Positions of the readings outside the specification. */
  readonly outsideSpecification: readonly number[];
}

/** A sample as first accepted. Never changed. */
export interface NewSample {
  readonly id: string;
  readonly streamId: string;
  readonly modelId: string;
  readonly takenAt: number;
  readonly storedAt: number;
  readonly personId: string;
  readonly door: Door;
  readonly lot: string | null;
  readonly note: string;
  readonly values: MeasuredValues;
  readonly answer: SampleAnswer;
}

/** A sample as it reads now: the values of its newest revision. */
export interface SampleRow extends Omit<NewSample, 'answer' | 'values'>, MeasuredValues {
  /** Order of arrival; breaks ties of takenAt. */
  readonly no: number;
  readonly revision: number;
  /** The version in force at takenAt; null where there was none. */
  readonly limitsVersion: number | null;
}

/** A place in the order of takenAt and arrival. */
export interface SamplePlace {
  readonly no: number;
  readonly takenAt: number;
}

/** What a chart needs of a sample. */
export interface ChartedSample extends SamplePlace {
  readonly size: number;
  readonly mean: number | null;
  readonly range: number | null;
  readonly standardDeviation: number | null;
}

export interface FoundSample extends SamplePlace {
  readonly id: string;
}

/** A correction of a sample: revision 2 and up. Never changed. */
export interface NewRevision {
  /** The correction's own id, chosen by the sender. */
  readonly id: string;
  readonly sampleId: string;
  readonly revision: number;
  readonly reason: string;
  readonly personId: string;
  readonly at: number;
  readonly values: MeasuredValues;
  readonly answer: SampleAnswer;
}

export interface CorrectionRow extends MeasuredValues {
  readonly sampleId: string;
  readonly revision: number;
  readonly reason: string;
  readonly answer: SampleAnswer;
}

export interface RevisionRow extends MeasuredValues {
  readonly revision: number;
  /** null for revision 1. */
  readonly reason: string | null;
  readonly personId: string;
  readonly at: number;
}

export interface NewSignal {
  /** From newSignalIds. */
  readonly id: number;
  readonly sampleId: string;
  readonly streamId: string;
  readonly modelId: string;
  readonly takenAt: number;
  readonly limitsVersion: number;
  readonly chart: Signal['chart'];
  readonly rule: RunRuleName;
  readonly side: Signal['side'];
  /** Samples that it stands on, oldest first. */
  readonly points: readonly string[];
  /** takenAt of the first of them. */
  readonly firstPointAt: number;
  readonly sentence: string;
  readonly alarmId: number | null;
  readonly at: number;
}

export interface SignalRow extends NewSignal {
  readonly sampleNo: number;
  /** Set once, when a correction, a late sample or a new limits version took its ground away. */
  readonly withdrawnAt: number | null;
  readonly withdrawnBecause: string | null;
}

export interface LimitsRow
  extends Omit<LimitsVersion, 'effectiveFrom' | 'baselineFrom' | 'baselineTo' | 'at'> {
  readonly baselineFrom: number | null;
  readonly baselineTo: number | null;
  readonly effectiveFrom: number;
  readonly at: number;
}

/** What a sample is judged by. */
export type LimitsInForce = Pick<
  LimitsRow,
  'version' | 'effectiveFrom' | 'mean' | 'withinSubgroupStandardDeviation' | 'meanStandardDeviation'
>;

/** Everything that accepting a sample asks first. */
export interface SampleGrounds {
  readonly plant: PlantModel;
  /** What the sample was answered when it came in before. */
  readonly earlierAnswer: SampleAnswer | null;
  readonly limits: LimitsInForce | null;
  /** An alarm of the stream and model whose condition is still there. */
  readonly activeAlarmId: number | null;
}

export interface EventRow {
  readonly id: string;
  readonly lineId: string;
  readonly stationId: string | null;
  readonly streamId: string | null;
  readonly kind: EventKind;
  readonly at: number;
  readonly until: number | null;
  readonly modelId: string | null;
  readonly lot: string | null;
  readonly text: string;
  readonly personId: string;
  readonly recordedAt: number;
}

export interface MissedRow {
  readonly streamId: string;
  readonly dueAt: number;
  readonly reason: string;
  readonly personId: string;
  readonly at: number;
}

/** The head of an alarm: what its entries add up to, kept in step with them in the same transaction. */
export interface AlarmRow {
  readonly id: number;
  readonly streamId: string;
  readonly modelId: string;
  readonly state: AlarmState;
  readonly active: boolean;
  readonly raisedAt: number;
  readonly acknowledgedAt: number | null;
  readonly returnedToNormalAt: number | null;
  readonly closedAt: number | null;
  readonly decision: AlarmDecision | null;
  readonly cause: string | null;
  readonly sentence: string;
}

/** What took the ground from a signal. Only a correction says that the parts were other than they seemed. */
export interface Withdrawal {
  readonly by: 'correction' | 'late sample' | 'limits';
  readonly because: string;
}

/**
 * The signals of an alarm together. One that other limits or a late sample withdrew still makes parts suspect:
 * nobody has checked them.
 */
export interface SignalSpan {
  /** All of them, whatever became of them. */
  readonly count: number;
  /** First point of the earliest signal that no correction withdrew; null where there is none. */
  readonly firstPointAt: number | null;
  /** takenAt of the newest sample that completed such a signal. */
  readonly lastAt: number | null;
}

/** The samples of an alarm with pieces outside the drawing, as they read now. */
export interface OutsideSpan {
  readonly count: number;
  /** takenAt of the first and of the newest; null where none is outside any more. */
  readonly firstAt: number | null;
  readonly lastAt: number | null;
}

export interface AlarmEntryRow extends Omit<AlarmEntry, 'at'> {
  /** The id that the sender chose; null for entries by the software. */
  readonly id: string | null;
  readonly alarmId: number;
  readonly at: number;
}

export interface AlarmQuery {
  readonly open?: boolean;
  readonly streamId?: string;
  readonly modelId?: string;
  /** Raised within. */
  readonly period?: Period;
  /** Only later ones, in order of arrival instead of newest first. */
  readonly afterId?: number;
  readonly limit: number;
}

/** What somebody did that leaves no other record: a sign-in, a new key, a changed right. */
export interface AuditNote {
  readonly at: number;
  /** null: nobody had signed in. */
  readonly personId: string | null;
  readonly what: string;
  /** Whom or what it concerned. */
  readonly about: string;
  /** Never a secret. */
  readonly detail: unknown;
}

export interface StoreReads {
  /** For concerns that keep tables of their own; in a transaction, inside it. */
  readonly sql: Sql;

  /** Changes whenever the plant does. */
  plantRevision(): Promise<number>;
  plantModel(): Promise<PlantModel>;
  plantChanges(kind: PlantChangeRow['kind'], id: string): Promise<readonly PlantChangeRow[]>;

  sampleCount(): Promise<number>;
  sample(id: string): Promise<SampleRow | null>;
  /** The answer that the sample got when it was accepted. */
  acceptedAnswer(id: string): Promise<SampleAnswer | null>;
  /** The answer to its newest revision. */
  newestAnswer(id: string): Promise<SampleAnswer | null>;
  revisions(sampleId: string): Promise<readonly RevisionRow[]>;
  correction(id: string): Promise<CorrectionRow | null>;
  /** Of one stream and model, oldest first; where there are more than `limit`, the newest of them. */
  samples(streamId: string, modelId: string, period: Period, limit: number): Promise<readonly SampleRow[]>;
  /** What accepting a sample begins with. */
  groundsFor(id: string, streamId: string, modelId: string, takenAt: number): Promise<SampleGrounds>;
  /** The newest of a stream and model, oldest first. */
  newestCharted(streamId: string, modelId: string, limit: number): Promise<readonly ChartedSample[]>;
  /** The same for charts: the newest `limit` of a period, oldest first. */
  chartedSamples(
    streamId: string,
    modelId: string,
    period: Period,
    limit: number,
  ): Promise<readonly ChartedSample[]>;
  /** Samples after a point in the order of takenAt and arrival, oldest first. */
  chartedSamplesAfter(
    streamId: string,
    modelId: string,
    after: SamplePlace,
    limit: number,
  ): Promise<readonly ChartedSample[]>;
  /** The newest `limit` samples before a place, oldest first: what the run rules look back on. */
  chartedSamplesBefore(
    streamId: string,
    modelId: string,
    before: SamplePlace,
    limit: number,
  ): Promise<readonly ChartedSample[]>;
  /** In the order of `nos`. */
  sampleIds(nos: readonly number[]): Promise<readonly string[]>;
  /** The newest of a stream over all models. */
  latestSample(streamId: string): Promise<SampleRow | null>;
  /** When the samples of a stream were taken, over all models, oldest first. */
  takenTimes(
    streamId: string,
    period: Period,
  ): Promise<readonly { readonly sampleId: string; readonly modelId: string; readonly takenAt: number }[]>;
  /**
   * The newest sample in a period with no open question, nothing outside specification and no signal that stood at
   * `since` or came later, but for those that a correction withdrew.
   */
  lastGoodSample(
    streamId: string,
    modelId: string,
    period: Period,
    since: number,
  ): Promise<FoundSample | null>;
  /** The oldest such. */
  firstGoodSample(
    streamId: string,
    modelId: string,
    period: Period,
    since: number,
  ): Promise<FoundSample | null>;
  /** Lots written on the samples of a stream and model in a period, oldest first. */
  lotsOfSamples(
    streamId: string,
    modelId: string,
    period: Period,
  ): Promise<readonly { readonly lot: string; readonly takenAt: number }[]>;

  /** Those of a stream that arrived after one of its numbers, in order of arrival. */
  samplesAfter(streamId: string, no: number, limit: number): Promise<readonly SampleRow[]>;
  signalsAfter(streamId: string, id: number, limit: number): Promise<readonly SignalRow[]>;
  /** Those of a line. */
  eventsAfter(
    lineId: string,
    no: number,
    limit: number,
  ): Promise<readonly (EventRow & { readonly no: number })[]>;

  signalsOfSample(sampleId: string): Promise<readonly SignalRow[]>;
  /** Signals completed by samples of a period, withdrawn ones included, oldest first. */
  signals(streamId: string, modelId: string, period: Period): Promise<readonly SignalRow[]>;
  signalsOfAlarm(alarmId: number): Promise<readonly SignalRow[]>;
  signalSpanOfAlarm(alarmId: number): Promise<SignalSpan>;
  outsideSpanOfAlarm(alarmId: number): Promise<OutsideSpan>;

  /** Every version, oldest first. */
  limitsVersions(streamId: string, modelId: string): Promise<readonly LimitsRow[]>;
  /** The version in force at a time, by limitsInForceAt. */
  limitsAt(streamId: string, modelId: string, at: number): Promise<LimitsRow | null>;

  event(id: string): Promise<EventRow | null>;
  /** Events of a line that began in the period, and stoppages that reach into it; oldest first. */
  events(lineId: string, period: Period): Promise<readonly EventRow[]>;
  /** The newest event of a kind at or before a moment: which model runs, which coil. */
  latestEvent(lineId: string, kind: EventKind, at: number): Promise<EventRow | null>;

  missedSample(streamId: string, dueAt: number): Promise<MissedRow | null>;
  /** Declared as missed, by due time, oldest first. */
  missedSamples(streamId: string, period: Period): Promise<readonly MissedRow[]>;

  /** Newest first. */
  alarms(query: AlarmQuery): Promise<readonly AlarmRow[]>;
  alarm(id: number): Promise<AlarmRow | null>;
  openAlarm(streamId: string, modelId: string): Promise<AlarmRow | null>;
  /** Oldest first. */
  alarmEntries(alarmId: number): Promise<readonly AlarmEntryRow[]>;
  alarmEntry(id: string): Promise<AlarmEntryRow | null>;
}

/** Records that belong to no stream and are numbered as they arrive, read by the concerns that write them. */
export type NumberedTable =
  | 'handovers'
  | 'handover_ends'
  | 'concessions'
  | 'concession_entries'
  | 'restarts'
  | 'restart_entries';

/** Everything that can be written; there is no way to change or remove a record. */
export interface StoreTransaction extends StoreReads {
  /** Puts the record in its place and keeps the change. */
  savePlantRecord(change: PlantChangeRow): Promise<void>;
  /** Gives its number in the order of arrival. */
  addSample(sample: NewSample): Promise<number>;
  addRevision(revision: NewRevision): Promise<void>;
  /** Ids for signals to be stored; a sample's answer names its signals before they are. */
  newSignalIds(count: number): Promise<readonly number[]>;
  addSignal(signal: NewSignal): Promise<void>;
  withdrawSignal(id: number, at: number, withdrawal: Withdrawal): Promise<void>;
  addLimits(limits: LimitsRow): Promise<void>;
  addEvent(event: EventRow): Promise<void>;
  /** Ends a stoppage that was recorded while it lasted. */
  endEvent(id: string, until: number, personId: string, at: number): Promise<void>;
  addMissedSample(missed: MissedRow): Promise<void>;
  addAlarm(alarm: Omit<AlarmRow, 'id'>): Promise<number>;
  /** This revision of the sample has pieces outside the drawing, and belongs to the alarm. */
  addOutsideSample(alarmId: number, sampleId: string, revision: number): Promise<void>;
  /** A correction left pieces outside: its revision stays with the alarms of the revision before it. */
  keepOutsideSample(sampleId: string, revision: number): Promise<void>;
  /** Takes all records into the audit chain; for a database from before it. */
  adoptRecords(): Promise<void>;
  /** Covered by the audit chain like every record. */
  addNote(note: AuditNote): Promise<void>;
  /**
   * Adds a row of a concern that reads its tables itself, covered by the audit chain; gives the number of the row.
   * The transaction has to name NO_STREAM among its streams, or none.
   */
  addNumbered<Name extends NumberedTable>(table: Name, row: Omit<StoredRow<Name>, 'no'>): Promise<number>;
  /** Adds a line to the record of an alarm, and the head that follows from it. */
  addAlarmEntry(entry: AlarmEntryRow, head: AlarmRow): Promise<void>;
}

/** Stands among streams for the records that belong to none: events and audit notes. */
export const NO_STREAM = '';

export interface Store extends StoreReads {
  /**
   * Runs `work` alone among all that write the same; what it wrote is durable when the promise resolves, and none of
   * it is stored when the promise rejects. `streams` says of which streams it writes samples and what follows from
   * them (NO_STREAM: events and notes; empty: only tables that no sample is judged by), so that others need not wait
   * for it. Without it nobody else writes at all, and the plant may be changed. `sampleId` is the sample that `work`
   * will look for first, which saves a journey. Where two nodes got in each other's way `work` runs once more from
   * the beginning.
   */
  transaction<T>(
    work: (transaction: StoreTransaction) => Promise<T>,
    streams?: readonly string[],
    sampleId?: string,
  ): Promise<T>;
  /** Size of the database. */
  bytes(): Promise<number>;
  /** Waits for the running transaction, then lets go of the database. */
  close(): Promise<void>;
}
