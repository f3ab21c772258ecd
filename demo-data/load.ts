/**
 * Loads the demo plant: walks its calendar in time order and sends everything through the one path that every
 * sample takes, with a clock that follows, so that alarms are raised and handled as if live.
 */
import type { Clock } from '../api/clock.ts';
import type { Monitoring } from '../api/monitoring/monitoring.ts';
import type { PlantRecord } from '../api/monitoring/save-plant-record.ts';
import { isSetUpChange } from '../api/restarts/first-piece-plan.ts';
import { restartOf } from '../api/restarts/restart-records.ts';
import type { Reading, SampleAnswer, SampleSubmission } from '../api/schemas.ts';
import type { Store } from '../api/store/store.ts';
import { Agenda } from './agenda.ts';
import { createAlarmHandling } from './alarm-handling.ts';
import { planConcessions } from './concessions.ts';
import { eventLog, type LoggedEvent, stationOfEvent } from './event-log.ts';
import { createFirstPieces } from './first-pieces.ts';
import {
  characteristicNumber,
  entrySeconds,
  placeNumber,
  type StreamKey,
  streamId,
  streamKeys,
} from './generator/baselines.ts';
import { dayOfIndex, timeOf } from './generator/calendar.ts';
import { type GeneratedSample, type GenerateOptions, generateStream } from './generator/generate-stream.ts';
import { plantedEvents } from './generator/planted-events.ts';
import { keyedUuid } from './generator/random.ts';
import { planHandovers } from './handovers.ts';
import { LIMITS_METHOD, limitsSchedule, modelsOf, type PlannedLimits } from './limits-schedule.ts';
import { plantModel } from './plant.ts';
import { type Response, responseTo } from './responses.ts';
import { dayAt, engineer, engineerAndQuality, techAt } from './shifts.ts';

const MINUTE = 60_000;

/** Fixed before any result was looked at. */
export const DEMO_SEED = 20_250_901;
/** Day 41, shift 2: the samples of 19:30 are partly in, and an alarm is not acknowledged yet. */
export const DEMO_NOW = timeOf(41, '19:50');
/** Streams whose tech has not come round yet to the samples of the last half hour. */
const LAP = 30 * MINUTE;
/** The supervisor walks the press then, so that an alarm of 19:30 still waits for a person at the demo's present. */
const AWAY = { from: timeOf(41, '19:30'), to: timeOf(41, '20:00') };
const STILL_TO_DO: ReadonlySet<StreamKey['place']> = new Set(['R2', 'A2']);
/** Of the samples skipped on day 38, the one that nobody has declared. */
const UNDECLARED = { streamId: 'C12-A2', at: timeOf(38, '17:30') };

export interface DemoParts {
  readonly store: Store;
  readonly monitoring: Monitoring;
  readonly setClock: (clock: Clock) => void;
}

export interface LoadSummary {
  readonly samples: number;
  readonly events: number;
  readonly alarms: number;
  readonly openAlarms: number;
}

type DemoState = 'empty' | 'loaded' | 'incomplete' | 'other plant';

const lastMark = keyedUuid({
  seed: DEMO_SEED,
  purpose: 'eventId',
  characteristic: 0,
  place: 0,
  index: 2 ** 31,
});

/** What a database holds already. */
export async function demoState(store: Store): Promise<DemoState> {
  if ((await store.event(lastMark)) !== null) return 'loaded';
  const { people: known, plant } = await store.plantModel();
  if (known.length === 0) return 'empty';
  return plant.name === plantModel.plant.name ? 'incomplete' : 'other plant';
}

/** The newest time in a loaded database, so that its clock never goes back behind what was recorded. */
export async function newestTime(store: Store): Promise<number> {
  const { streams } = await store.plantModel();
  const samples = await Promise.all(streams.map(({ id }) => store.latestSample(id)));
  const alarms = await store.alarms({ limit: 1000 });
  const entries = await Promise.all(alarms.map(({ id }) => store.alarmEntries(id)));
  return Math.max(
    DEMO_NOW,
    ...samples.flatMap((sample) => (sample === null ? [] : [sample.storedAt])),
    ...entries.flat().map(({ at }) => at),
  );
}

interface Entry {
  readonly key: StreamKey;
  readonly sample: GeneratedSample;
}

/** All samples of an hour are in after the longest time that one takes, but for those entered in a hurry. */
const enteredAt = ({ takenAt, entrySeconds: seconds }: GeneratedSample): number =>
  takenAt + 1000 * (seconds < entrySeconds.shortest ? seconds : entrySeconds.longest);

const iso = (time: number): string => new Date(time).toISOString();

interface LoadOptions {
  /** Told after every day. */
  readonly onProgress?: (day: number, samples: number) => void;
  /** The moment that the made-up history ends at. */
  readonly until?: number;
}

/** Loads the whole plant into an empty store, up to `until`. */
export async function loadDemoPlant(
  parts: DemoParts,
  { onProgress = () => {}, until = DEMO_NOW }: LoadOptions = {},
): Promise<LoadSummary> {
  const { monitoring, setClock, store } = parts;
  const options: GenerateOptions = { seed: DEMO_SEED, events: plantedEvents };
  const streams = new Map(streamKeys.map((key) => [streamId(key), generateStream(key, options)]));
  const log = eventLog(options, streams).filter(({ at }) => at <= until);
  const agenda = new Agenda();
  const handling = createAlarmHandling({
    monitoring,
    store,
    agenda,
    seed: DEMO_SEED,
    now: () => now,
    away: AWAY,
  });
  const firstPieces = createFirstPieces({ monitoring, store, agenda, seed: DEMO_SEED, now: () => now });
  planHandovers({ store, agenda, seed: DEMO_SEED, now: () => now });
  planConcessions({ store, agenda, seed: DEMO_SEED, now: () => now });
  let now = timeOf(1, '05:00');
  let stored = 0;
  setClock({ now: () => now });

  await savePlant(monitoring);
  log.forEach((event, index) => {
    agenda.add(event.at, async () => {
      const restartId = await recordEvent(monitoring, event, index);
      if (isSetUpChange(event.kind) && (await restartOf(store.sql, restartId)) !== null)
        firstPieces.onChange(restartId, index);
    });
  });
  for (const key of streamKeys) {
    for (const model of modelsOf(key)) {
      for (const limits of limitsSchedule(key)) {
        agenda.add(limits.frozenAt, () => freeze(monitoring, key, model, limits));
      }
    }
  }
  const entries = new Map<number, Entry[]>();
  for (const key of streamKeys) {
    for (const sample of streams.get(streamId(key))!) {
      const { takenAt } = sample;
      const stillToDo = until - takenAt < LAP && STILL_TO_DO.has(key.place);
      if (takenAt > until || stillToDo) continue;
      if (sample.taken) {
        const at = enteredAt(sample);
        entries.set(at, [...(entries.get(at) ?? []), { key, sample }]);
      } else if (streamId(key) !== UNDECLARED.streamId || takenAt !== UNDECLARED.at) {
        agenda.add(timeOf(dayOfIndex(sample.index), '19:10'), () => declareMissed(monitoring, key, takenAt));
      }
    }
  }
  for (const [at, entered] of entries) agenda.add(at, () => enter(entered));

  /** The samples of an hour go in together, so that a slow disk is waited for once. */
  async function enter(entered: readonly Entry[]): Promise<void> {
    const submissions = entered.map(({ key, sample }) => submissionOf(key, sample));
    await monitoring.acceptAll(submissions, techAt(now));
    stored += entered.length;
    for (const [place, { key, sample }] of entered.entries()) {
      const answer = (await store.acceptedAnswer(submissions[place]!.id))!;
      if (answer.questions.length > 0 || sample.typed.length > 0)
        agenda.add(now + 4 * MINUTE, () => answerQuestions(key, sample, answer));
      if (answer.alarmId !== null) handling.onSignal(answer.alarmId, responseOf(key, sample));
    }
  }

  /** The same piece is measured again: a typing error is corrected, a true value confirmed. */
  async function answerQuestions(
    key: StreamKey,
    sample: GeneratedSample,
    answer: SampleAnswer,
  ): Promise<void> {
    const readings = (sample.readings ?? []).map((value, position): Reading => {
      const question = answer.questions.find((asked) => asked.position === position);
      const slip = sample.typed.find((typed) => typed.position === position);
      if (slip) {
        const asked = question ? { asked: { kind: question.kind, decision: 'changed' as const } } : {};
        return { value, firstValue: slip.value, ...asked };
      }
      return question ? { value, asked: { kind: question.kind, decision: 'kept' } } : { value };
    });
    const reason =
      sample.typed.length > 0
        ? 'Typed wrongly: the same piece measured again.'
        : 'Same piece measured again: the value is right.';
    const id = keyedUuid({ ...sampleKey(key, sample), purpose: 'correctionId' });
    const corrected = await monitoring.correct(
      answer.sampleId,
      { id, revision: answer.revision, readings, reason },
      techAt(sample.takenAt),
    );
    // A value outside the drawing that was doubted calls when it is confirmed.
    if (corrected.alarmId !== null && answer.alarmId === null)
      handling.onSignal(corrected.alarmId, responseOf(key, sample));
  }

  for (let action = agenda.next(); action && action.at <= until; action = agenda.next()) {
    const day = dayAt(action.at);
    if (day !== dayAt(now)) onProgress(dayAt(now), stored);
    now = action.at;
    await action.run();
  }
  now = until;
  await monitoring.recordEvent(
    {
      id: lastMark,
      lineId: 'P1',
      stationId: null,
      streamId: null,
      kind: 'note',
      at: iso(now),
      until: null,
      modelId: null,
      lot: null,
      text: 'Demo: the made-up history ends here.',
    },
    engineer,
  );
  const alarms = await store.alarms({ limit: 100_000 });
  const open = alarms.filter(({ state }) => state !== 'closed');
  return { samples: stored, events: log.length + 1, alarms: alarms.length, openAlarms: open.length };
}

function responseOf(key: StreamKey, { takenAt, typed }: GeneratedSample): Response {
  const baseline = limitsSchedule(key).findLast(({ effectiveFrom }) => effectiveFrom <= takenAt);
  const middle = baseline ? (baseline.from + baseline.to) / 2 : null;
  return responseTo(key, takenAt, typed.length > 0, middle, plantedEvents);
}

async function savePlant(monitoring: Monitoring): Promise<void> {
  const { plant, ...lists } = plantModel;
  const save = (record: PlantRecord) => monitoring.savePlantRecord(record, 'Demo plant', engineer);
  // People first: everything else is signed by one of them.
  for (const record of lists.people) await save({ kind: 'people', record });
  await save({ kind: 'plant', record: plant });
  for (const record of lists.lines) await save({ kind: 'lines', record });
  for (const record of lists.stations) await save({ kind: 'stations', record });
  for (const record of lists.models) await save({ kind: 'models', record });
  for (const record of lists.characteristics) await save({ kind: 'characteristics', record });
  for (const record of lists.specifications) await save({ kind: 'specifications', record });
  for (const record of lists.streams) await save({ kind: 'streams', record });
  for (const record of lists.plans) await save({ kind: 'plans', record });
}

/** Gives the id of the event, which is that of the restart as well. */
async function recordEvent(monitoring: Monitoring, event: LoggedEvent, index: number): Promise<string> {
  const { lineId, key, kind, at, modelId, lot, text } = event;
  const recorded = await monitoring.recordEvent(
    {
      id: keyedUuid({ seed: DEMO_SEED, purpose: 'eventId', characteristic: 0, place: 0, index }),
      lineId,
      stationId: stationOfEvent(event),
      streamId: key === null ? null : streamId(key),
      kind,
      at: iso(at),
      until: null,
      modelId,
      lot,
      text,
    },
    techAt(at),
  );
  return recorded.id;
}

async function freeze(
  monitoring: Monitoring,
  key: StreamKey,
  modelId: string,
  { from, to, effectiveFrom, status, reason, signalsExplained }: PlannedLimits,
): Promise<void> {
  await monitoring.freezeLimits(
    {
      streamId: streamId(key),
      modelId,
      status,
      source: { kind: 'baseline', from: iso(from), to: iso(to), method: LIMITS_METHOD },
      effectiveFrom: iso(effectiveFrom),
      reason,
      signalsExplained,
    },
    engineerAndQuality,
  );
}

async function declareMissed(monitoring: Monitoring, key: StreamKey, dueAt: number): Promise<void> {
  await monitoring.declareMissed(
    {
      streamId: streamId(key),
      dueAt: iso(dueAt),
      reason: 'One tech for both rim lines: a colleague was sent home ill.',
    },
    techAt(dueAt),
  );
}

const sampleKey = (key: StreamKey, { index }: GeneratedSample) => ({
  seed: DEMO_SEED,
  characteristic: characteristicNumber(key.characteristic),
  place: placeNumber(key.place),
  index,
});

/** A sample as the tech enters it, slips included. */
function submissionOf(key: StreamKey, sample: GeneratedSample): SampleSubmission {
  const { model, takenAt, lot, readings, count, typed } = sample;
  const entered = readings?.map((value, position): Reading => {
    const slip = typed.find((candidate) => candidate.position === position);
    return { value: slip?.value ?? value };
  });
  return {
    id: keyedUuid({ ...sampleKey(key, sample), purpose: 'sampleId' }),
    streamId: streamId(key),
    modelId: model,
    takenAt: iso(takenAt),
    unit: count ? '1' : 'mm',
    ...(entered ? { readings: entered } : {}),
    ...(count ? { count } : {}),
    lot,
  };
}
