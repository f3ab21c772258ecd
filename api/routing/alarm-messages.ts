/** What a message says: where, what, since when, what next and why, in one plain sentence an alarm. */
import { containmentOf } from '../monitoring/containment.ts';
import { isoTime } from '../monitoring/payloads.ts';
import { plantTime } from '../plant-time.ts';
import type { PlantModel, Severity } from '../schemas.ts';
import type { AlarmRow, StoreReads } from '../store/store.ts';
import { severityOf } from './severity.ts';

export interface ToldAlarm {
  readonly id: number;
  readonly severity: Severity;
  readonly state: AlarmRow['state'];
  readonly active: boolean;
  readonly lineId: string;
  readonly stationId: string;
  readonly streamId: string;
  readonly characteristicId: string;
  readonly modelId: string;
  readonly raisedAt: string;
  readonly suspectParts: number;
  /** One plain sentence. */
  readonly sentence: string;
  readonly link: string;
}

const severityWords: Record<Severity, string> = {
  safety: 'Safety',
  product: 'Outside the drawing',
  process: 'The process has changed',
};

const nameOf = (list: readonly { readonly id: string; readonly name: string }[], id: string): string =>
  list.find((item) => item.id === id)?.name ?? id;

/** `pageAddress`: where people open Runtrue, such as https://runtrue.example; empty: links are paths. */
export async function toldAlarm(
  store: StoreReads,
  plant: PlantModel,
  safetyCharacteristicIds: readonly string[],
  alarm: AlarmRow,
  now: number,
  pageAddress: string,
): Promise<ToldAlarm> {
  const stream = plant.streams.find(({ id }) => id === alarm.streamId)!;
  const station = plant.stations.find(({ id }) => id === stream.stationId)!;
  const plan = plant.plans.find(({ streamId }) => streamId === stream.id);
  const severity = await severityOf(store.sql, plant, safetyCharacteristicIds, alarm);
  const { suspectParts } = await containmentOf(store, alarm, now);
  const next = plan?.reactionPlan.steps[0] ?? 'Set the parts apart and call the quality engineer.';
  const what = nameOf(plant.characteristics, stream.characteristicId);
  const place = `${nameOf(plant.lines, station.lineId)}, ${station.name}, ${stream.name}`;
  const since = plantTime(alarm.raisedAt, plant.plant.utcOffsetMinutes);
  const model = nameOf(plant.models, alarm.modelId);
  return {
    id: alarm.id,
    severity,
    state: alarm.state,
    active: alarm.active,
    lineId: station.lineId,
    stationId: station.id,
    streamId: stream.id,
    characteristicId: stream.characteristicId,
    modelId: alarm.modelId,
    raisedAt: isoTime(alarm.raisedAt),
    suspectParts,
    sentence:
      `${what} of ${model} at ${place}, since ${since}: ${withoutStop(next)}, because ` +
      `${lowerFirst(withoutStop(alarm.sentence))} (${suspectParts} parts suspect).`,
    link: `${pageAddress}/floor?alarm=${alarm.id}`,
  };
}

const withoutStop = (sentence: string): string => sentence.trim().replace(/\.$/, '');
const lowerFirst = (sentence: string): string => sentence.charAt(0).toLowerCase() + sentence.slice(1);

export type Occasion = 'raised' | 'worse' | 'escalated';

const occasionWords: Record<Occasion, string> = {
  raised: '',
  worse: 'Worse: ',
  escalated: 'Nobody has acknowledged: ',
};

export interface IncidentMessage {
  readonly type: `alarm.${Occasion}`;
  readonly timestamp: string;
  readonly data: {
    readonly incident: number;
    readonly lineId: string;
    readonly severity: Severity;
    readonly rule: string;
    readonly step: number;
    readonly alarms: readonly ToldAlarm[];
  };
}

export function subjectOf(plant: PlantModel, { type, data }: IncidentMessage): string {
  const occasion = occasionWords[type.slice('alarm.'.length) as Occasion];
  const more = data.alarms.length > 1 ? ` and ${data.alarms.length - 1} more` : '';
  const [first] = data.alarms;
  const what = first === undefined ? '' : `: ${nameOf(plant.characteristics, first.characteristicId)}${more}`;
  return `${occasion}${severityWords[data.severity]} at ${nameOf(plant.lines, data.lineId)}${what}`
    .replaceAll(/\s+/g, ' ')
    .slice(0, 200);
}

/** The text of a mail. */
export function mailText({ type, data }: IncidentMessage): string {
  const first =
    type === 'alarm.escalated'
      ? 'Nobody has acknowledged this yet, so it comes to you.\n\n'
      : type === 'alarm.worse'
        ? 'This has become worse since the last message.\n\n'
        : '';
  const alarms = data.alarms.map(({ sentence, link }) => `${sentence}\n${link}\n`).join('\n');
  return `${first}${alarms}\nRuntrue advises. Site rules and authorised staff decide; quality releases parts.\n`;
}
