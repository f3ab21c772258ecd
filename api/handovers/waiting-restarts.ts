import { restartDetail } from '../restarts/restart-payload.ts';
import { openRestarts } from '../restarts/restart-records.ts';
import type { OpenMatter, PlantModel, RestartDetail } from '../schemas.ts';
import type { StoreReads } from '../store/store.ts';
import { lineName, matter, modelName, personName, stationName } from './matter.ts';

/** How far the first piece is. */
function stateWords(plant: PlantModel, { restart, entries }: RestartDetail): string {
  const who = personName(plant, restart.stateBy);
  if (restart.state === 'stated') return `${who} stated the first piece; it waits for an engineer.`;
  if (restart.state !== 'refused') return 'Nobody has stated the first piece yet.';
  const why = entries.at(-1)?.text ?? '';
  return `${who} refused the first piece${why === '' ? '' : `: ${why}`}.`.replace('..', '.');
}

/** Changes of a set-up whose first piece is not approved, with the next step that the restart itself names. */
export async function restartMatters(
  store: StoreReads,
  plant: PlantModel,
  now: number,
): Promise<OpenMatter[]> {
  const matters: OpenMatter[] = [];
  for (const { id, lineId, stationId, kind, modelId, personId } of await openRestarts(store.sql)) {
    const detail = await restartDetail(store, id, now);
    const { at, unapproved } = detail.restart;
    const made = `About ${unapproved.parts} ${unapproved.parts === 1 ? 'part was' : 'parts were'} made without approval.`;
    matters.push(
      matter({
        key: `restart ${id}`,
        title: `First piece after ${kind === 'adjustment' ? 'an' : 'a'} ${kind}`,
        where: `${lineName(plant, lineId)}${stationId === null ? '' : `, ${stationName(plant, stationId)}`}${
          modelId === null ? '' : `, ${modelName(plant, modelId)}`
        }`,
        who: personName(plant, personId),
        since: at,
        restartId: id,
        sentence: `${stateWords(plant, detail)} ${made}`,
        next: detail.next,
      }),
    );
  }
  return matters;
}
