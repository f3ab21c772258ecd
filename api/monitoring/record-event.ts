import { conflict, unacceptable, unknown } from '../problem.ts';
import type { EventSubmission, PlantModel } from '../schemas.ts';
import type { EventRow, StoreTransaction } from '../store/store.ts';
import { requirePerson } from './stream-context.ts';
import { validTime } from './validate-sample.ts';

/** An event on a line. A stoppage that still lasts is ended by sending it again with its end. */
export async function recordEvent(
  store: StoreTransaction,
  plant: PlantModel,
  submission: EventSubmission,
  personId: string,
  now: number,
): Promise<{ readonly event: EventRow; readonly isNew: boolean }> {
  requirePerson(plant, personId);
  const event = eventRow(plant, submission, personId, now);
  const stored = await store.event(event.id);
  if (stored === null) {
    await store.addEvent(event);
    return { event, isNew: true };
  }
  if (!isSame(stored, event)) {
    throw conflict(
      'id',
      `Another event is stored under the id ${event.id}; give each event an id of its own.`,
    );
  }
  if (stored.until === event.until) return { event: stored, isNew: false };
  if (stored.until !== null || event.until === null) {
    throw conflict('until', 'The end of this stoppage is recorded already, and it stays.');
  }
  await store.endEvent(event.id, event.until, personId, now);
  return { event: { ...stored, until: event.until }, isNew: true };
}

const isSame = (stored: EventRow, given: EventRow): boolean =>
  (['lineId', 'stationId', 'streamId', 'kind', 'at', 'modelId', 'lot', 'text'] as const).every(
    (field) => stored[field] === given[field],
  );

function eventRow(plant: PlantModel, given: EventSubmission, personId: string, now: number): EventRow {
  const { lineId, stationId, streamId, modelId } = given;
  if (!plant.lines.some(({ id }) => id === lineId)) throw unknown('line', lineId, 'lineId');
  const stationOf = (id: string, field: string) => {
    const station = plant.stations.find((candidate) => candidate.id === id);
    if (station === undefined) throw unknown('station', id, field);
    if (station.lineId === lineId) return station;
    throw unacceptable(
      field,
      `The station must belong to line "${lineId}"; it belongs to "${station.lineId}".`,
    );
  };
  if (stationId !== null) stationOf(stationId, 'stationId');
  if (streamId !== null) {
    const stream = plant.streams.find(({ id }) => id === streamId);
    if (stream === undefined) throw unknown('stream', streamId, 'streamId');
    stationOf(stream.stationId, 'streamId');
    if (stationId !== null && stream.stationId !== stationId) {
      throw unacceptable(
        'streamId',
        `The stream must belong to station "${stationId}"; it belongs to "${stream.stationId}".`,
      );
    }
  }
  if (modelId !== null && !plant.models.some(({ id }) => id === modelId)) {
    throw unknown('part model', modelId, 'modelId');
  }
  const at = validTime(given.at, { field: 'at', subject: 'The time of the event' }, now, plant.plant);
  const end = { field: 'until', subject: 'The end of the stoppage' };
  const until = given.until === null ? null : validTime(given.until, end, now, plant.plant);
  if (until !== null && given.kind !== 'stoppage') {
    throw unacceptable(
      'until',
      `The end must be left empty (null): only a stoppage has an end, not a ${given.kind}.`,
    );
  }
  if (until !== null && until < at)
    throw unacceptable('until', 'The end of the stoppage must not be before its beginning.');
  return {
    id: given.id.toLowerCase(),
    lineId,
    stationId,
    streamId,
    kind: given.kind,
    at,
    until,
    modelId,
    lot: given.lot === '' ? null : given.lot,
    text: given.text,
    personId,
    recordedAt: now,
  };
}
