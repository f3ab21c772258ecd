import { partsApart } from '../concessions/parts-apart.ts';
import { areSetApart } from '../monitoring/set-apart.ts';
import type { Concession, OpenMatter, PlantModel } from '../schemas.ts';
import { matter, modelName, placeOf, streamName } from './matter.ts';
import type { OpenAlarm } from './open-alarms.ts';

/** Parts that are set apart until an alarm is closed, which lets them go. */
export function setApartMatters(
  plant: PlantModel,
  open: readonly OpenAlarm[],
  concessions: readonly Concession[],
): OpenMatter[] {
  return open.flatMap(({ alarm, entries }) => {
    if (!areSetApart(entries)) return [];
    const { suspectParts, lastGoodSampleId, lots } = alarm.containment;
    const counts = entries.filter(({ kind }) => kind === 'quarantined');
    const newest = counts.at(-1);
    const expected = `${lastGoodSampleId === null ? 'at least ' : ''}${suspectParts} suspect by now`;
    const counted =
      newest === undefined
        ? 'nobody has counted them'
        : `${newest.countedParts} counted by hand at the last count: ${newest.text}`;
    const { releasedBefore, releasedSince } = partsApart(
      entries,
      concessions
        .filter(({ alarmId }) => alarmId === alarm.id)
        .flatMap((one) => one.entries.map((entry) => ({ ...entry, at: Date.parse(entry.at) }))),
    );
    const before =
      releasedBefore > 0 ? ` ${releasedBefore} were released under a concession before that count.` : '';
    const since = releasedSince > 0 ? ` ${releasedSince} of them are released under a concession.` : '';
    const under = `${before}${since}`;
    const fromLots = lots.length > 0 ? ` Lots ${lots.join(', ')}.` : '';
    return [
      matter({
        key: `parts set apart ${alarm.id} ${counts.length}`,
        title: streamName(plant, alarm.streamId),
        where: `${placeOf(plant, alarm.streamId)}, ${modelName(plant, alarm.modelId)}`,
        since: alarm.raisedAt,
        alarmId: alarm.id,
        sentence: `${expected[0]!.toUpperCase()}${expected.slice(1)}; ${counted}.${under}${fromLots}`.replace(
          '..',
          '.',
        ),
        next:
          newest === undefined
            ? 'Have them counted by hand where they stand, so that none is missing later.'
            : 'Keep them where they are: an engineer and quality release them, nobody else.',
      }),
    ];
  });
}
