import type { PlantModel, Severity } from '../schemas.ts';
import type { RoutingRecords } from './routing-records.ts';
import { fits } from './rule-fits.ts';
import { severities } from './severity.ts';
import { isInShift } from './shift-at.ts';

const MINUTE = 60_000;
/** Shifts are written to the minute, but one that is not met by every quarter of an hour is none. */
const STEP = 15 * MINUTE;
const WEEK = 7 * 24 * 60 * MINUTE;

const kinds: Record<Severity, string> = {
  safety: 'safety',
  product: 'parts outside the drawing',
  process: 'a process that has changed',
};

const listed = (words: readonly string[], last: string): string =>
  words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} ${last} ${words.at(-1)}`;

/**
 * Which alarms no rule tells anybody of, in words; the board shows them, but nobody is called. Goes through a whole
 * week of every line.
 */
export function unheard(plant: PlantModel, routing: RoutingRecords): string[] {
  const sentences = new Map<
    string,
    { severities: Severity[]; readonly lines: string; readonly when: string }
  >();
  for (const severity of severities) {
    const lines = new Map<string, string[]>();
    for (const { id, name } of plant.lines.filter((line) => canRaise(plant, routing, line.id, severity))) {
      const when = unheardWhen(plant, routing, id, severity);
      if (when !== null) lines.set(when, [...(lines.get(when) ?? []), name]);
    }
    for (const [when, names] of lines) {
      const on = names.length === plant.lines.length && names.length > 1 ? 'any line' : listed(names, 'and');
      const key = `${on} ${when}`;
      const sentence = sentences.get(key) ?? { severities: [], lines: on, when };
      sentence.severities.push(severity);
      sentences.set(key, sentence);
    }
  }
  return [...sentences.values()].map(
    (one) =>
      `Nobody is told of ${listed(
        one.severities.map((severity) => kinds[severity]),
        'or',
      )} on ${one.lines}${one.when}.`,
  );
}

/** Could a stream of the line raise an alarm so severe? */
function canRaise(
  { stations, streams, plans }: PlantModel,
  { safetyCharacteristicIds }: RoutingRecords,
  lineId: string,
  severity: Severity,
): boolean {
  const ofLine = streams.filter(({ stationId }) =>
    stations.some((station) => station.id === stationId && station.lineId === lineId),
  );
  return ofLine.some(({ id, characteristicId }) => {
    const isSafety = safetyCharacteristicIds.includes(characteristicId);
    if (severity === 'safety') return isSafety;
    if (isSafety) return false;
    return severity === 'product' || plans.some((plan) => plan.streamId === id && plan.raisesAlarms);
  });
}

/** "" at any time, " in the night shift", or null: somebody always hears. */
function unheardWhen(
  plant: PlantModel,
  routing: RoutingRecords,
  lineId: string,
  severity: Severity,
): string | null {
  const times = Array.from({ length: WEEK / STEP }, (_, index) => index * STEP);
  const silent = times.filter(
    (at) => !routing.rules.some((rule) => fits(rule, routing, plant, lineId, severity, at)),
  );
  if (silent.length === 0) return null;
  if (silent.length === times.length) return '';
  const { utcOffsetMinutes } = plant.plant;
  const shifts = routing.shifts.filter((shift) =>
    silent.some((at) => isInShift(shift, at, utcOffsetMinutes)),
  );
  const outside = silent.some(
    (at) => !routing.shifts.some((shift) => isInShift(shift, at, utcOffsetMinutes)),
  );
  const named = listed(
    shifts.map(({ name }) => name),
    'and',
  );
  const when = [
    ...(shifts.length === 0 ? [] : [`in the shift${shifts.length === 1 ? '' : 's'} ${named}`]),
    ...(outside ? ['outside all shifts'] : []),
  ];
  return ` ${listed(when, 'and')}`;
}
