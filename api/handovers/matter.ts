import type { OpenMatter, PlantModel } from '../schemas.ts';

/** A matter with the fields that not every one has. */
export const matter = (
  given: Pick<OpenMatter, 'key' | 'title' | 'sentence' | 'next'> & Partial<OpenMatter>,
): OpenMatter => ({
  where: '',
  severity: null,
  who: null,
  since: null,
  until: null,
  alarmId: null,
  ...given,
});

const nameIn = (list: readonly { readonly id: string; readonly name: string }[], id: string): string =>
  list.find((one) => one.id === id)?.name ?? id;

export const personName = ({ people }: PlantModel, id: string): string => nameIn(people, id);
export const modelName = ({ models }: PlantModel, id: string): string => nameIn(models, id);
export const lineName = ({ lines }: PlantModel, id: string): string => nameIn(lines, id);
export const stationName = ({ stations }: PlantModel, id: string): string => nameIn(stations, id);

/** What is measured, and where; a stream that is named after its characteristic is not read twice. */
export function streamName({ streams, characteristics }: PlantModel, id: string): string {
  const name = nameIn(streams, id);
  const characteristicId = streams.find((stream) => stream.id === id)?.characteristicId ?? '';
  const measured = nameIn(characteristics, characteristicId);
  return name.toLowerCase().startsWith(measured.toLowerCase()) ? name : `${measured}, ${name}`;
}

/** Line and station of a stream. */
export function placeOf(plant: PlantModel, streamId: string): string {
  const stream = plant.streams.find(({ id }) => id === streamId);
  const station = plant.stations.find(({ id }) => id === stream?.stationId);
  return station === undefined ? '' : `${lineName(plant, station.lineId)}, ${station.name}`;
}
