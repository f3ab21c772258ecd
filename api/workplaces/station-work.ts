import type { AppParts } from '../app-parts.ts';
import { expectationOf } from '../monitoring/expectation.ts';
import { isoTime, samplePayload } from '../monitoring/payloads.ts';
import { streamContext } from '../monitoring/stream-context.ts';
import { lineOf, stationOf } from '../plant-lookup.ts';
import { ProblemError } from '../problem.ts';
import type { Expectation, Line, PlantModel, StationTask, StationWork, Stream } from '../schemas.ts';
import type { EventRow, LimitsRow } from '../store/store.ts';
import { lineState, stoppagesOf } from './line-state.ts';
import { localDayOf, todaysSlots } from './todays-slots.ts';

/** Samples that a task shows as the recent ones. */
const RECENT = 8;

interface Moment {
  readonly now: number;
  readonly plant: PlantModel;
  readonly line: Line;
  readonly events: readonly EventRow[];
  readonly modelId: string | null;
}

/** What the same check in the server will hold values against; null where the drawing knows no such model. */
function expectation(
  plant: PlantModel,
  streamId: string,
  modelId: string,
  limits: LimitsRow | null,
): Expectation | null {
  try {
    const expected = expectationOf(streamContext(plant, streamId, modelId), limits);
    if (expected === null) return null;
    const { mean, standardDeviation, realWithin, otherModels } = expected;
    return { mean, standardDeviation, realWithin, otherModels: [...otherModels] };
  } catch (error) {
    if (error instanceof ProblemError) return null;
    throw error;
  }
}

async function buildTask({ store }: AppParts, stream: Stream, moment: Moment): Promise<StationTask> {
  const { now, plant, line, events, modelId } = moment;
  const plan = plant.plans.find(({ streamId }) => streamId === stream.id);
  const [openAlarm] = await store.alarms({ open: true, streamId: stream.id, limit: 1 });
  const limits = modelId === null ? null : await store.limitsAt(stream.id, modelId, now);
  const recent =
    modelId === null ? [] : await store.samples(stream.id, modelId, { from: 0, to: now }, RECENT);
  return {
    streamId: stream.id,
    modelId,
    slots: plan ? await todaysSlots(store, plant, line, plan, stoppagesOf(events, stream), now) : [],
    limitsVersion: limits?.version ?? null,
    expectation: modelId === null ? null : expectation(plant, stream.id, modelId, limits),
    openAlarmId: openAlarm?.id ?? null,
    recent: recent.map(samplePayload),
  };
}

/** What is due at a station now, with all that entering it needs. */
export async function buildStationWork(parts: AppParts, stationId: string): Promise<StationWork> {
  const { store, clock } = parts;
  const plant = await store.plantModel();
  const station = stationOf(plant, stationId, 'id');
  const line = lineOf(plant, station.lineId, 'id');
  const now = clock.now();
  const { modelId, lot } = await lineState(store, plant, line, now);
  const events = await store.events(line.id, localDayOf(now, plant.plant.utcOffsetMinutes));
  const tasks: StationTask[] = [];
  for (const stream of plant.streams.filter((candidate) => candidate.stationId === station.id)) {
    tasks.push(await buildTask(parts, stream, { now, plant, line, events, modelId }));
  }
  return { now: isoTime(now), stationId: station.id, lineId: line.id, runningModelId: modelId, lot, tasks };
}
