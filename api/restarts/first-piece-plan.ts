/**
 * Which changes of a set-up ask for a first piece, and what has to be measured of it. After IATF 16949 8.5.1.3
 * (verification of job set-ups), from memory; the rest is common practice, no source.
 */
import type { EventKind, PlannedFirstPiece, PlantModel, RestartKind } from '../schemas.ts';
import type { EventRow } from '../store/store.ts';

/**
 * What makes parts differently from now on, whoever did it and however well. A coil is not among it: it is the same
 * material from another lot, and the charts watch it. Nor is an adjustment, which is corrected by the next sample as
 * a matter of course, and would otherwise leave a line unapproved all day; it is where a sampling plan says so.
 */
const always: ReadonlySet<EventKind> = new Set<EventKind>(['changeover', 'tool change', 'regrind']);

/**
 * The streams that must be measured at the first piece after an event, and how many pieces; empty: it asks for none.
 * A changeover touches the whole line. Anything else touches its station, also where it names one stream: a tool that
 * mends one characteristic may spoil its neighbour. A station where nothing is measured is judged by the whole line.
 */
export function firstPiecePlan(
  plant: PlantModel,
  event: Pick<EventRow, 'kind' | 'lineId' | 'stationId' | 'streamId'>,
  modelId: string | null,
): readonly PlannedFirstPiece[] {
  if (!always.has(event.kind) && event.kind !== 'adjustment') return [];
  const stationsOfLine = plant.stations.filter(({ lineId }) => lineId === event.lineId).map(({ id }) => id);
  const ofWholeLine = planned(plant, stationsOfLine, modelId);
  const stationId = stationOfChange(plant, event);
  const atStation = stationId === null ? ofWholeLine : planned(plant, [stationId], modelId);
  const found = atStation.length === 0 ? ofWholeLine : atStation;
  if (event.kind !== 'adjustment') return found;
  return found.filter(({ streamId }) => planOf(plant, streamId)?.firstPieceAfterAdjustment === true);
}

/** Where the set-up was changed; null: the whole line. */
export function stationOfChange(
  plant: PlantModel,
  { kind, stationId, streamId }: Pick<EventRow, 'kind' | 'stationId' | 'streamId'>,
): string | null {
  if (kind === 'changeover') return null;
  return stationId ?? plant.streams.find(({ id }) => id === streamId)?.stationId ?? null;
}

export const isSetUpChange = (kind: EventKind): kind is RestartKind =>
  always.has(kind) || kind === 'adjustment';

const planOf = (plant: PlantModel, streamId: string) =>
  plant.plans.find((candidate) => candidate.streamId === streamId);

/** Streams without a sampling plan are not measured, nor those whose drawing knows other models only. */
function planned(
  plant: PlantModel,
  stationIds: readonly string[],
  modelId: string | null,
): readonly PlannedFirstPiece[] {
  return plant.streams.flatMap(({ id, stationId, characteristicId }) => {
    const plan = planOf(plant, id);
    if (plan === undefined || !stationIds.includes(stationId)) return [];
    const specified = plant.specifications.filter((one) => one.characteristicId === characteristicId);
    const isMadeSo = specified.length === 0 || specified.some((one) => one.modelId === modelId);
    if (modelId !== null && !isMadeSo) return [];
    return [{ streamId: id, pieces: plan.sampleSize, signalsCall: plan.raisesAlarms }];
  });
}
