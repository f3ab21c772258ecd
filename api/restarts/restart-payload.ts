import { runningTime } from '../../src/sampling-plan/running-hours.ts';
import { isoTime } from '../monitoring/payloads.ts';
import { plantTime } from '../plant-time.ts';
import { unknown } from '../problem.ts';
import type { FirstPieceResult, Line, PlantModel, Restart, RestartDetail } from '../schemas.ts';
import type { StoreReads } from '../store/store.ts';
import { stoppagesOf } from '../workplaces/line-state.ts';
import { overtakerOf } from './begin-restart.ts';
import { firstPieceResults } from './first-piece-results.ts';
import { goneWrong } from './gone-wrong.ts';
import {
  openRestarts,
  type RestartEntryRow,
  type RestartRow,
  restartEntries,
  restartOf,
  restartsOfLine,
} from './restart-records.ts';

const HOUR = 3_600_000;

/** Changes of a set-up whose first piece is not approved, oldest first; of one line, or of the plant. */
export async function waitingRestarts(store: StoreReads, now: number, lineId?: string): Promise<Restart[]> {
  const plant = await store.plantModel();
  const rows = await openRestarts(store.sql, lineId);
  return Promise.all(rows.map((row) => restartPayload(store, plant, row, now)));
}

/** The newest of a line, whatever became of them, newest first. */
export async function newestRestarts(
  store: StoreReads,
  lineId: string,
  limit: number,
  now: number,
): Promise<Restart[]> {
  const plant = await store.plantModel();
  const rows = await restartsOfLine(store.sql, lineId, limit);
  return Promise.all(rows.map((row) => restartPayload(store, plant, row, now)));
}

async function restartPayload(
  store: StoreReads,
  plant: PlantModel,
  row: RestartRow,
  now: number,
): Promise<Restart> {
  const last = (await restartEntries(store.sql, row.no)).at(-1);
  const ended = await endOf(store, row, last, now);
  return {
    id: row.id,
    lineId: row.lineId,
    stationId: row.stationId,
    kind: row.kind,
    at: isoTime(row.at),
    modelId: row.modelId,
    plan: [...row.plan],
    personId: row.personId,
    recordedAt: isoTime(row.recordedAt),
    state: last?.kind ?? 'waiting',
    stateBy: last?.personId ?? row.personId,
    stateAt: isoTime(last?.at ?? row.recordedAt),
    overtakes: [...row.overtakes],
    unapproved: await madeBetween(store, plant, row, ended),
  };
}

/** Until when parts were made without an approved first piece of this change. */
async function endOf(
  store: StoreReads,
  row: RestartRow,
  last: RestartEntryRow | undefined,
  now: number,
): Promise<number> {
  if (last?.kind === 'overtaken') return (await overtakerOf(store, row))?.at ?? last.at;
  return last?.kind === 'approved' ? last.at : now;
}

/** What the line made meanwhile, by its planned hours less its stoppages, and by its rate. */
async function madeBetween(
  store: StoreReads,
  plant: PlantModel,
  { lineId, stationId, unapprovedSince }: RestartRow,
  until: number,
): Promise<Restart['unapproved']> {
  // Saved records always refer to records that exist.
  const line: Line = plant.lines.find(({ id }) => id === lineId)!;
  // An event may be ahead of the server's clock a little.
  const to = Math.max(unapprovedSince, until);
  const events = await store.events(lineId, { from: unapprovedSince, to });
  const milliseconds = runningTime(unapprovedSince, to, {
    runningHours: line.runningHours,
    utcOffsetMinutes: plant.plant.utcOffsetMinutes,
    // Where the whole line is concerned, the stoppage of one station or stream stops nothing.
    stoppages: stoppagesOf(events, { id: '', stationId: stationId ?? '' }),
  });
  return {
    since: isoTime(unapprovedSince),
    runningHours: milliseconds / HOUR,
    parts: Math.round((line.partsPerHour * milliseconds) / HOUR),
  };
}

export async function restartDetail(store: StoreReads, id: string, now: number): Promise<RestartDetail> {
  const row = await restartOf(store.sql, id.toLowerCase());
  if (row === null) throw unknown('restart', id, 'id');
  const plant = await store.plantModel();
  const restart = await restartPayload(store, plant, row, now);
  const entries = await restartEntries(store.sql, row.no);
  const last = entries.at(-1);
  const decided = restart.state === 'approved' ? (last?.results ?? []) : null;
  const results = decided ?? (await firstPieceResults(store, plant, row));
  return {
    restart,
    results: [...results],
    goneWrong: [...(await goneWrong(store, plant, row, results, now))],
    next: nextStep(plant, restart, results, last),
    entries: entries.map((entry) => ({
      kind: entry.kind,
      at: isoTime(entry.at),
      personId: entry.personId,
      text: entry.text,
      results: entry.results === null ? null : [...entry.results],
    })),
    correctedSince: decided === null ? [] : await correctedSince(store, decided),
  };
}

/** Of the samples that an approval stands on, those that read otherwise now. */
async function correctedSince(store: StoreReads, results: readonly FirstPieceResult[]): Promise<string[]> {
  const streams: string[] = [];
  for (const { streamId, sampleId, revision } of results) {
    const sample = sampleId === null ? null : await store.sample(sampleId);
    if (sample !== null && sample.revision !== revision) streams.push(streamId);
  }
  return streams;
}

/** What the first of them shows, and which others. */
export function inWords(plant: PlantModel, [first, ...others]: readonly FirstPieceResult[]): string {
  if (first === undefined) return '';
  const also = others.length === 0 ? '' : ` Look also at: ${streamNames(plant, others)}.`;
  return `${streamNames(plant, [first])}: ${first.sentence}${also}`;
}

/** Streams as people on the floor say them, three at most. */
function streamNames(plant: PlantModel, results: readonly FirstPieceResult[]): string {
  const names = results.map(
    ({ streamId }) => plant.streams.find(({ id }) => id === streamId)?.name ?? streamId,
  );
  if (names.length > 3) return `${names.slice(0, 2).join('; ')}; and ${names.length - 2} more`;
  return names.join('; ');
}

/** Not measured as the plan asks: the first piece is not done. */
export const isUndone = ({ state }: FirstPieceResult): boolean =>
  state === 'not-measured' || state === 'too-few' || state === 'in-doubt';
/** Measured, and it shows that the set-up is not right. */
export const isBad = ({ state }: FirstPieceResult): boolean => state === 'outside' || state === 'signal';

function nextStep(
  plant: PlantModel,
  restart: Restart,
  results: readonly FirstPieceResult[],
  last: RestartEntryRow | undefined,
): string {
  const { state } = restart;
  const { utcOffsetMinutes } = plant.plant;
  const time = plantTime(last?.at ?? 0, utcOffsetMinutes).slice(11);
  const name = (id: string) => plant.people.find((person) => person.id === id)?.name ?? id;
  if (state === 'approved')
    return `${name(restart.stateBy)} approved the first piece. It says nothing about the parts made before; they are released separately.`;
  if (state === 'overtaken')
    return 'The set-up was changed again before a first piece was approved: that change has a first piece of its own.';
  const undone = results.filter(isUndone);
  const bad = results.filter(isBad);
  if (bad.length > 0 && state !== 'stated')
    return `Not ready for approval: ${streamNames(plant, bad)}. Keep the parts apart, tell the engineer, have the authorised setter put it right, record the adjustment, then measure the first piece again.`;
  if (bad.length > 0)
    return `Do not approve: ${streamNames(plant, bad)}. Keep the parts apart, have the authorised setter put it right, record the adjustment, then measure the first piece again.`;
  if (undone.length > 0)
    return `Measure at the station, whole samples as planned: ${streamNames(plant, undone)}.`;
  if (state === 'stated')
    return `${name(restart.stateBy)} stated the first piece as done at ${time}. An engineer looks at the results, then approves or refuses.`;
  return 'Everything is measured and good. The technician now states the first piece as done; an engineer, another person, then approves it.';
}
