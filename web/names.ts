/** The names of things as people on the floor say them. */
import type { Characteristic } from '../api/schemas.ts';
import { laneName } from './lane-name.ts';
import { characteristicsById, linesById, modelsById, stationsById, streamsById } from './plant.ts';

export const modelName = (modelId: string): string => modelsById.value.get(modelId)?.name ?? modelId;

export const characteristicOf = (streamId: string): Characteristic | null => {
  const stream = streamsById.value.get(streamId);
  return (stream && characteristicsById.value.get(stream.characteristicId)) ?? null;
};

/** Characteristic and lane; a stream that is named after its characteristic is not read twice. */
export const streamTitle = (streamId: string): string => {
  const characteristic = characteristicOf(streamId);
  const stream = streamsById.value.get(streamId);
  if (!characteristic || !stream) return streamId;
  const lane = laneName(stream.name, characteristic.name);
  return lane === '' ? characteristic.name : `${characteristic.name}, ${lane}`;
};

/** Line and station of a stream. */
export function placeOf(streamId: string): { line: string; station: string } {
  const stream = streamsById.value.get(streamId);
  const station = stream && stationsById.value.get(stream.stationId);
  const line = station && linesById.value.get(station.lineId);
  return { line: line?.name ?? '', station: station?.name ?? '' };
}
