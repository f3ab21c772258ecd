import { runningTime, type Stoppage } from '../../src/sampling-plan/running-hours.ts';
import type { Line, PlantModel } from '../schemas.ts';
import type { EventRow, SampleRow, StoreReads } from '../store/store.ts';

/** What a line does now. */
export interface LineState {
  readonly modelId: string | null;
  readonly lot: string | null;
}

const isLater = (a: SampleRow, b: SampleRow): boolean => a.takenAt > b.takenAt;

async function newestSampleOf(store: StoreReads, plant: PlantModel, line: Line): Promise<SampleRow | null> {
  const stations = new Set(plant.stations.filter(({ lineId }) => lineId === line.id).map(({ id }) => id));
  const streams = plant.streams.filter(({ stationId }) => stations.has(stationId));
  const latest = await Promise.all(streams.map(({ id }) => store.latestSample(id)));
  return latest.reduce((newest, row) => (row && (!newest || isLater(row, newest)) ? row : newest), null);
}

/**
 * The running model and coil lot by the line's events; where none tells, by the newest sample of the line. A plant
 * with one part model runs that.
 */
export async function lineState(
  store: StoreReads,
  plant: PlantModel,
  line: Line,
  now: number,
): Promise<LineState> {
  const changeover = await store.latestEvent(line.id, 'changeover', now);
  const coil = await store.latestEvent(line.id, 'coil', now);
  const newest = changeover && coil ? null : await newestSampleOf(store, plant, line);
  const only = plant.models.length === 1 ? plant.models[0]!.id : null;
  return { modelId: changeover?.modelId ?? newest?.modelId ?? only, lot: coil?.lot ?? newest?.lot ?? null };
}

/** Stoppages of the whole line, of one station or of one stream, where they touch that stream. */
export const stoppagesOf = (
  events: readonly EventRow[],
  stream: { readonly id: string; readonly stationId: string },
): Stoppage[] =>
  events
    .filter(({ kind }) => kind === 'stoppage')
    .filter(({ stationId }) => stationId === null || stationId === stream.stationId)
    .filter(({ streamId }) => streamId === null || streamId === stream.id)
    .map(({ at, until }) => ({ from: at, to: until }));

/** Is the line meant to run at this moment, and does it not stand? */
export const runsAt = (
  moment: number,
  plant: PlantModel,
  line: Line,
  stoppages: readonly Stoppage[],
): boolean =>
  runningTime(moment, moment + 1, {
    runningHours: line.runningHours,
    utcOffsetMinutes: plant.plant.utcOffsetMinutes,
    stoppages,
  }) > 0;
