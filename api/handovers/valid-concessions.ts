import { isoTime } from '../monitoring/payloads.ts';
import { endOfDay } from '../plant-time.ts';
import type { Concession, OpenMatter, PlantModel } from '../schemas.ts';
import { matter, modelName, personName, streamName } from './matter.ts';

/** Concessions under which parts may still be released: rules that hold for a time. */
export function concessionMatters(plant: PlantModel, concessions: readonly Concession[]): OpenMatter[] {
  return concessions
    .filter(({ state }) => state === 'valid')
    .map((concession) =>
      matter({
        key: `concession ${concession.no}`,
        title: `Concession ${concession.no}, ${concession.customer}`,
        where: `${streamName(plant, concession.streamId)}, ${modelName(plant, concession.modelId)}`,
        who: personName(plant, concession.personId),
        until: isoTime(endOfDay(concession.expiresOn, plant.plant.utcOffsetMinutes)),
        alarmId: concession.alarmId,
        sentence: concession.sentence,
        next: 'Let nothing go under it without quality: only they release, for this customer alone.',
      }),
    );
}
