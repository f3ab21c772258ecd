/** From what is stored to what travels: times as ISO 8601 in UTC, nothing that only the store needs. */
import type { LimitsVersion, MissedSample, PlantEvent, Sample, SampleRevision, Signal } from '../schemas.ts';
import type { EventRow, LimitsRow, MissedRow, RevisionRow, SampleRow, SignalRow } from '../store/store.ts';

export const isoTime = (time: number): string => new Date(time).toISOString();
export const isoTimeOrNull = (time: number | null): string | null => (time === null ? null : isoTime(time));

export const samplePayload = (row: SampleRow): Sample => ({
  id: row.id,
  streamId: row.streamId,
  modelId: row.modelId,
  takenAt: isoTime(row.takenAt),
  storedAt: isoTime(row.storedAt),
  personId: row.personId,
  door: row.door,
  revision: row.revision,
  readings: row.readings as Sample['readings'],
  count: row.count,
  mean: row.mean,
  range: row.range,
  standardDeviation: row.standardDeviation,
  lot: row.lot,
  note: row.note,
  limitsVersion: row.limitsVersion,
  questions: row.questions as Sample['questions'],
});

export const revisionPayload = (row: RevisionRow): SampleRevision => ({
  revision: row.revision,
  readings: row.readings as SampleRevision['readings'],
  count: row.count,
  reason: row.reason,
  personId: row.personId,
  at: isoTime(row.at),
});

export const signalPayload = (row: SignalRow): Signal => ({
  id: row.id,
  sampleId: row.sampleId,
  chart: row.chart,
  rule: row.rule,
  side: row.side,
  points: row.points as string[],
  sentence: row.sentence,
  withdrawn: row.withdrawnAt !== null,
});

export const limitsPayload = (row: LimitsRow): LimitsVersion => ({
  ...row,
  baselineFrom: isoTimeOrNull(row.baselineFrom),
  baselineTo: isoTimeOrNull(row.baselineTo),
  effectiveFrom: isoTime(row.effectiveFrom),
  at: isoTime(row.at),
});

export const eventPayload = (row: EventRow): PlantEvent => ({
  id: row.id,
  lineId: row.lineId,
  stationId: row.stationId,
  streamId: row.streamId,
  kind: row.kind,
  at: isoTime(row.at),
  until: isoTimeOrNull(row.until),
  modelId: row.modelId,
  lot: row.lot,
  text: row.text,
  personId: row.personId,
  recordedAt: isoTime(row.recordedAt),
});

export const missedPayload = (row: MissedRow): MissedSample => ({
  ...row,
  dueAt: isoTime(row.dueAt),
  at: isoTime(row.at),
});
