import type {
  Alarm,
  AlarmDetail,
  AlarmEntrySubmission,
  EventSubmission,
  LimitsRequest,
  LimitsVersion,
  MissedSample,
  MissedSampleSubmission,
  Plant,
  PlantEvent,
  PlantModel,
  PlantRecordKind,
  SampleAnswer,
  SampleCorrection,
  SampleSubmission,
} from '../schemas.ts';
import type { AlarmQuery, Door } from '../store/store.ts';

/** Who acts, and through which door. */
export interface By {
  readonly personId: string;
  readonly door: Door;
}

export type PlantRecord =
  | { readonly kind: 'plant'; readonly record: Plant }
  | {
      [Kind in PlantRecordKind]: { readonly kind: Kind; readonly record: PlantModel[Kind][number] };
    }[PlantRecordKind];

/** The one path of everything that is recorded: validate, store, evaluate, signal, alarm, notify. */
export interface Monitoring {
  /** Resolves when the sample is durable. The same sample again stores nothing and gives the same answer. */
  accept(
    submission: SampleSubmission,
    by: By,
  ): Promise<{ readonly answer: SampleAnswer; readonly repeated: boolean }>;
  /** All or nothing. Lets other work run in between, and reports how many are done. */
  acceptAll(
    submissions: readonly SampleSubmission[],
    by: By,
    onProgress?: (done: number, total: number) => void,
  ): Promise<{ readonly stored: number; readonly repeated: number }>;
  correct(sampleId: string, correction: SampleCorrection, by: By): Promise<SampleAnswer>;
  freezeLimits(request: LimitsRequest, by: By): Promise<LimitsVersion>;
  declareMissed(missed: MissedSampleSubmission, by: By): Promise<MissedSample>;
  recordEvent(event: EventSubmission, by: By): Promise<PlantEvent>;
  savePlantRecord(plantRecord: PlantRecord, reason: string, by: By): Promise<void>;
  addAlarmEntry(alarmId: number, entry: AlarmEntrySubmission, by: By): Promise<AlarmDetail>;
  /** Alarms with their containment as of now, newest first. */
  alarms(query: AlarmQuery): Promise<Alarm[]>;
  alarm(id: number): Promise<AlarmDetail>;
}
