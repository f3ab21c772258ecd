import type { PlantModel, Severity } from '../schemas.ts';
import type { RoutingRecords } from './routing-records.ts';
import { isFor } from './rule-fits.ts';
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
  const raised = severitiesOfLines(plant, routing);
  const when = unheardTimes(plant, routing);
  const sentences = new Map<string, Severity[]>();
  for (const severity of severities) {
    const lines = new Map<string, string[]>();
    for (const { id, name } of plant.lines) {
      const times = raised.get(id)?.has(severity) ? when(id, severity) : null;
      if (times === null) continue;
      const names = lines.get(times);
      if (names === undefined) lines.set(times, [name]);
      else names.push(name);
    }
    for (const [times, names] of lines) {
      const on = names.length === plant.lines.length && names.length > 1 ? 'any line' : listed(names, 'and');
      const key = `on ${on}${times}.`;
      sentences.set(key, [...(sentences.get(key) ?? []), severity]);
    }
  }
  return [...sentences].map(([where, ofThese]) => {
    const what = ofThese.map((severity) => kinds[severity]);
    return `Nobody is told of ${listed(what, 'or')} ${where}`;
  });
}

/** How severe the alarms of each line's streams can be. */
function severitiesOfLines(
  { stations, streams, plans }: PlantModel,
  { safetyCharacteristicIds }: RoutingRecords,
): ReadonlyMap<string, ReadonlySet<Severity>> {
  const lineOf = new Map(stations.map(({ id, lineId }) => [id, lineId]));
  const raising = new Set(plans.filter(({ raisesAlarms }) => raisesAlarms).map(({ streamId }) => streamId));
  const found = new Map<string, Set<Severity>>();
  for (const { id, stationId, characteristicId } of streams) {
    const lineId = lineOf.get(stationId) ?? '';
    const ofLine = found.get(lineId) ?? new Set<Severity>();
    found.set(lineId, ofLine);
    if (safetyCharacteristicIds.includes(characteristicId)) ofLine.add('safety');
    else {
      ofLine.add('product');
      if (raising.has(id)) ofLine.add('process');
    }
  }
  return found;
}

/** Gives "" where nobody ever hears, " in the shift Night", or null where somebody always does. */
function unheardTimes({ plant }: PlantModel, { rules, shifts }: RoutingRecords) {
  const times = Array.from({ length: WEEK / STEP }, (_, index) => index * STEP);
  const inShifts = new Map(
    shifts.map((shift) => [shift.id, times.map((at) => isInShift(shift, at, plant.utcOffsetMinutes))]),
  );
  // Most lines are told of in the same shifts.
  const known = new Map<string, string | null>();

  return (lineId: string, severity: Severity): string | null => {
    const telling = rules.filter((rule) => isFor(rule, lineId, severity));
    if (telling.some(({ shiftIds }) => shiftIds.length === 0)) return null;
    const told = [...new Set(telling.flatMap(({ shiftIds }) => shiftIds))].sort();
    const key = told.join(' ');
    if (!known.has(key)) known.set(key, words(told));
    return known.get(key)!;
  };

  function words(told: readonly string[]): string | null {
    const silent = times.map((_, index) => !told.some((id) => inShifts.get(id)?.[index]));
    if (!silent.includes(true)) return null;
    if (!silent.includes(false)) return '';
    const missed = shifts.filter(({ id }) => inShifts.get(id)!.some((is, index) => is && silent[index]));
    const outside = silent.some((is, index) => is && !shifts.some(({ id }) => inShifts.get(id)![index]));
    const named = listed(
      missed.map(({ name }) => name),
      'and',
    );
    const when = [
      ...(missed.length === 0 ? [] : [`in the shift${missed.length === 1 ? '' : 's'} ${named}`]),
      ...(outside ? ['outside all shifts'] : []),
    ];
    return ` ${listed(when, 'and')}`;
  }
}
