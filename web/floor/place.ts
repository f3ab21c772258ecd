import { characteristicsById, linesById, modelsById, stationsById, streamsById } from '../plant.ts';

/** Where a stream is and what it watches, in names that people on the floor use. */
export function placeOf(streamId: string) {
  const stream = streamsById.value.get(streamId);
  const station = stream && stationsById.value.get(stream.stationId);
  const line = station && linesById.value.get(station.lineId);
  const characteristic = stream && characteristicsById.value.get(stream.characteristicId);
  const streamName = stream?.name ?? streamId;
  const characteristicName = characteristic?.name ?? streamId;
  return {
    line: line?.name ?? '',
    station: station?.name ?? '',
    /** Plants often name a stream after its characteristic; nobody wants to read it twice. */
    watched: streamName.toLowerCase().includes(characteristicName.toLowerCase())
      ? streamName
      : `${characteristicName}, ${streamName}`,
  };
}

export const modelName = (modelId: string): string => modelsById.value.get(modelId)?.name ?? modelId;
