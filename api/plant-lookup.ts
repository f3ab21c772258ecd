/** Finds parts of the plant by id, and refuses, naming the field, what is not there. */
import { unacceptable, unknown } from './problem.ts';
import type { Line, PartModel, PlantModel, Station, Stream } from './schemas.ts';
import type { Period } from './store/store.ts';

const find = <T extends { readonly id: string }>(
  list: readonly T[],
  what: string,
  id: string,
  field: string,
): T => {
  const found = list.find((candidate) => candidate.id === id);
  if (found === undefined) throw unknown(what, id, field);
  return found;
};

export const lineOf = (plant: PlantModel, id: string, field: string): Line =>
  find(plant.lines, 'line', id, field);
export const stationOf = (plant: PlantModel, id: string, field: string): Station =>
  find(plant.stations, 'station', id, field);
export const streamOf = (plant: PlantModel, id: string, field: string): Stream =>
  find(plant.streams, 'stream', id, field);
export const modelOf = (plant: PlantModel, id: string, field: string): PartModel =>
  find(plant.models, 'part model', id, field);

/** A period of a query, its ends included. */
export function periodOf(from: string, to: string): Period {
  const period = { from: Date.parse(from), to: Date.parse(to) };
  if (period.from > period.to) throw unacceptable('to', 'must not be earlier than from');
  return period;
}
