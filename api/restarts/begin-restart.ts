import { lineOf } from '../plant-lookup.ts';
import { plantTime } from '../plant-time.ts';
import type { Change, PlantModel } from '../schemas.ts';
import type { EventRow, StoreReads, StoreTransaction } from '../store/store.ts';
import { lineState } from '../workplaces/line-state.ts';
import { firstPiecePlan, isSetUpChange, stationOfChange } from './first-piece-plan.ts';
import {
  addRestart,
  addRestartEntry,
  openRestarts,
  type RestartRow,
  restartsAfter,
} from './restart-records.ts';

/**
 * The set-up was changed: from now on the restart is not approved, and what its first piece must show is laid down.
 * Call in the transaction that stores the event. Gives what changed; nothing where no first piece is asked for.
 */
export async function beginRestart(
  store: StoreTransaction,
  plant: PlantModel,
  event: EventRow,
): Promise<readonly Change[]> {
  const { lineId, kind, at, personId, recordedAt } = event;
  if (!isSetUpChange(kind)) return [];
  const modelId =
    kind === 'changeover'
      ? event.modelId
      : (await lineState(store, plant, lineOf(plant, lineId, 'lineId'), at)).modelId;
  const plan = firstPiecePlan(plant, event, modelId);
  if (plan.length === 0) return [];
  const overtaken = (await openRestarts(store.sql, lineId)).filter(
    (earlier) => earlier.at <= at && covers({ plan }, earlier),
  );
  const restart = await addRestart(store, {
    id: event.id,
    lineId,
    stationId: stationOfChange(plant, event),
    kind,
    at,
    modelId,
    plan,
    overtakes: overtaken.map(({ id }) => id),
    unapprovedSince: Math.min(at, ...overtaken.map(({ unapprovedSince }) => unapprovedSince)),
    personId,
    recordedAt,
  });
  for (const earlier of overtaken) await overtake(store, plant, earlier, restart, recordedAt);
  await overtakeIfChangedSince(store, plant, restart, recordedAt);
  return [...overtaken, restart].map(({ id }) => ({ kind: 'restart', lineId, restartId: id }));
}

/** What is recorded late, or taken back late, is overtaken by the change that came after it. */
export async function overtakeIfChangedSince(
  store: StoreTransaction,
  plant: PlantModel,
  restart: RestartRow,
  now: number,
): Promise<void> {
  const later = await overtakerOf(store, restart);
  if (later !== undefined) await overtake(store, plant, restart, later, now);
}

/** The next change of the set-up after which everything is measured anew that a restart asked for. */
export async function overtakerOf(store: StoreReads, restart: RestartRow): Promise<RestartRow | undefined> {
  const later = await restartsAfter(store.sql, restart.lineId, restart.at);
  return later.find((candidate) => covers(candidate, restart));
}

/** Whoever measures this first piece has measured all of that one. */
const covers = (one: Pick<RestartRow, 'plan'>, other: Pick<RestartRow, 'plan'>): boolean =>
  other.plan.every(({ streamId }) => one.plan.some((item) => item.streamId === streamId));

async function overtake(
  store: StoreTransaction,
  { plant }: PlantModel,
  earlier: RestartRow,
  by: RestartRow,
  now: number,
): Promise<void> {
  await addRestartEntry(store, earlier, {
    restartNo: earlier.no,
    // No sender can choose this one.
    id: `overtaken-${earlier.id}`,
    kind: 'overtaken',
    at: now,
    personId: by.personId,
    text: `The set-up was changed again (${by.kind}, ${plantTime(by.at, plant.utcOffsetMinutes)}) before a first piece was approved.`,
    results: null,
  });
}
