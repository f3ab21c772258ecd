import { lineOf, stationOf } from '../plant-lookup.ts';
import { plantTime } from '../plant-time.ts';
import type { OpenMatter, PlantModel } from '../schemas.ts';
import type { StoreReads } from '../store/store.ts';
import { stoppagesOf } from '../workplaces/line-state.ts';
import { localDayOf, todaysSlots } from '../workplaces/todays-slots.ts';
import { matter, placeOf, streamName } from './matter.ts';

const MOST_TIMES_NAMED = 8;

/** Planned samples since a moment that nobody took, whether or not somebody has said why; one matter a stream. */
export async function missedSampleMatters(
  store: StoreReads,
  plant: PlantModel,
  since: number,
  now: number,
): Promise<OpenMatter[]> {
  const matters: OpenMatter[] = [];
  const { utcOffsetMinutes } = plant.plant;
  for (const plan of plant.plans) {
    const stream = plant.streams.find(({ id }) => id === plan.streamId);
    if (stream === undefined) continue;
    const line = lineOf(plant, stationOf(plant, stream.stationId, 'stationId').lineId, 'lineId');
    const missed: number[] = [];
    let declared = 0;
    for (let moment = since; ; ) {
      const day = localDayOf(moment, utcOffsetMinutes);
      const until = Math.min(day.to - 1, now);
      const stoppages = stoppagesOf(await store.events(line.id, day), stream);
      for (const { dueAt, state } of await todaysSlots(store, plant, line, plan, stoppages, until)) {
        const at = Date.parse(dueAt);
        // A day that is over has no late samples any more.
        const empty = state === 'missed' || state === 'declared missed' || (state === 'late' && until < now);
        if (!empty || at < since || at > now) continue;
        missed.push(at);
        if (state === 'declared missed') declared += 1;
      }
      if (day.to > now) break;
      moment = day.to;
    }
    if (missed.length === 0) continue;
    const named = missed.slice(-MOST_TIMES_NAMED).map((at) => plantTime(at, utcOffsetMinutes).slice(11));
    const silent = missed.length - declared;
    const were = missed.length === 1 ? 'was' : 'were';
    const times =
      missed.length > named.length
        ? `${missed.length} samples ${were} not taken, the last of them at ${named.join(', ')}`
        : `${missed.length === 1 ? 'The sample' : `${missed.length} samples`} of ${named.join(', ')} ${were} not taken`;
    const reasons = declared > 0 ? `; a reason is recorded for ${declared} of ${missed.length}` : '';
    matters.push(
      matter({
        key: `missed samples ${stream.id} ${missed.at(-1)}`,
        title: streamName(plant, stream.id),
        where: placeOf(plant, stream.id),
        sentence: `${times}${reasons}.`,
        next:
          silent > 0
            ? 'Have the reason recorded at Station, and measure as soon as it can be: parts since then are unchecked.'
            : 'Measure as soon as it can be: parts since then are unchecked.',
      }),
    );
  }
  return matters;
}
