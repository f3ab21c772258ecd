import { isoTime } from '../monitoring/payloads.ts';
import type { OpenMatter, PlantModel } from '../schemas.ts';
import type { StoreReads } from '../store/store.ts';
import { lineName, matter, personName, stationName, streamName } from './matter.ts';

/** Stoppages that were recorded and not ended. */
export async function stoppageMatters(
  store: StoreReads,
  plant: PlantModel,
  now: number,
): Promise<OpenMatter[]> {
  const matters: OpenMatter[] = [];
  for (const line of plant.lines) {
    for (const event of await store.events(line.id, { from: now, to: now })) {
      if (event.kind !== 'stoppage' || (event.until !== null && event.until <= now)) continue;
      const { stationId, streamId } = event;
      const name = lineName(plant, event.lineId);
      const place = stationId === null ? name : `${name}, ${stationName(plant, stationId)}`;
      matters.push(
        matter({
          key: `stoppage ${event.id}`,
          title: `Stands: ${streamId === null ? place : streamName(plant, streamId)}`,
          where: streamId === null ? '' : place,
          who: personName(plant, event.personId),
          since: isoTime(event.at),
          until: event.until === null ? null : isoTime(event.until),
          sentence: event.text === '' ? 'It stands; no reason was written.' : event.text,
          next: 'End the stoppage when it runs again: until then no sample is asked for.',
        }),
      );
    }
  }
  return matters;
}
