import { isoTime } from '../monitoring/payloads.ts';
import { openRestarts } from '../restarts/restart-records.ts';
import type { OpenMatter, PlantModel } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import { lineName, matter, modelName, personName, stationName } from './matter.ts';

/** Changes of a set-up whose first piece is not approved. */
export async function restartMatters(sql: Sql, plant: PlantModel): Promise<OpenMatter[]> {
  return (await openRestarts(sql)).map(({ id, lineId, stationId, kind, at, modelId, personId, plan }) =>
    matter({
      key: `restart ${id}`,
      title: `First piece after ${kind === 'adjustment' ? 'an' : 'a'} ${kind}`,
      where: `${lineName(plant, lineId)}${stationId === null ? '' : `, ${stationName(plant, stationId)}`}${
        modelId === null ? '' : `, ${modelName(plant, modelId)}`
      }`,
      who: personName(plant, personId),
      since: isoTime(at),
      sentence: `The restart is not approved; the first piece is measured in ${plan.length} ${
        plan.length === 1 ? 'characteristic' : 'characteristics'
      }.`,
      next: 'Have the first piece measured by a technician and approved by an engineer: what runs until then is not approved.',
    }),
  );
}
