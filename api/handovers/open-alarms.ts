import { areSetApart } from '../monitoring/set-apart.ts';
import type { Alarm, OpenMatter, PlantModel } from '../schemas.ts';
import type { AlarmEntryRow } from '../store/store.ts';
import { matter, modelName, personName, placeOf, streamName } from './matter.ts';

/** An open alarm with its record. */
export interface OpenAlarm {
  readonly alarm: Alarm;
  readonly entries: readonly AlarmEntryRow[];
}

/** What is missing first, in the order in which an alarm is worked on. */
function nextStep({ alarm, entries }: OpenAlarm): string {
  if (alarm.acknowledgedAt === null) return 'Take it: nobody is on it yet.';
  if (alarm.decision === null) return 'Decide to run, adjust or stop: nothing is decided yet.';
  if (alarm.decidedBeforeRaisedAgain) return 'Decide anew: it came back after the last decision.';
  if (areSetApart(entries) && !entries.some(({ kind }) => kind === 'quarantined'))
    return 'Have the parts counted by hand: they are to be set apart, and nobody has counted them.';
  if (alarm.cause === null) return 'Find the cause and record it: without it the alarm cannot be closed.';
  if (alarm.active) return 'Watch the next samples: the cause is recorded, but the condition is still there.';
  return 'Have it closed by an engineer or quality: the cause is recorded and the process is back.';
}

const safetyFirst = (alarm: Alarm, step: string): string =>
  alarm.severity === 'safety' ? `Authorised staff first: this is about safety. ${step}` : step;

/** Open alarms that call, and those that are shelved. */
export function openAlarmMatters(
  plant: PlantModel,
  open: readonly OpenAlarm[],
): { readonly calling: OpenMatter[]; readonly shelved: OpenMatter[] } {
  const calling: OpenMatter[] = [];
  const shelved: OpenMatter[] = [];
  for (const one of open) {
    const { alarm, entries } = one;
    const by = entries.findLast(({ kind }) => kind === 'acknowledged')?.personId ?? null;
    const owner = alarm.acknowledgedAt === null || by === null ? null : personName(plant, by);
    const common = {
      title: streamName(plant, alarm.streamId),
      where: `${placeOf(plant, alarm.streamId)}, ${modelName(plant, alarm.modelId)}`,
      severity: alarm.severity,
      since: alarm.raisedAt,
      alarmId: alarm.id,
    };
    if (alarm.shelved === null)
      calling.push(
        matter({
          ...common,
          // One that came back since is another matter than the one that was read.
          key: `alarm ${alarm.id} ${entries.filter(({ kind }) => kind === 'raised-again').length}`,
          who: owner,
          sentence: alarm.sentence,
          next: safetyFirst(alarm, nextStep(one)),
        }),
      );
    else
      shelved.push(
        matter({
          ...common,
          key: `shelved alarm ${alarm.id} ${alarm.shelved.until}`,
          who: personName(plant, alarm.shelved.personId),
          until: alarm.shelved.until,
          sentence: `${alarm.sentence} Shelved: ${alarm.shelved.reason}`,
          next: 'Look at it before its time is over: it calls nobody until then, and the parts stay suspect.',
        }),
      );
  }
  return { calling, shelved };
}
