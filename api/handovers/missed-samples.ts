import { lineOf, stationOf } from '../plant-lookup.ts';
import { plantTime } from '../plant-time.ts';
import type { OpenMatter, PlantModel, SamplingPlan, Stream } from '../schemas.ts';
import type { StoreReads } from '../store/store.ts';
import { stoppagesOf } from '../workplaces/line-state.ts';
import { localDayOf, todaysSlots } from '../workplaces/todays-slots.ts';
import { matter, placeOf, streamName } from './matter.ts';

const MOST_TIMES_NAMED = 8;

/** So much of its interval an empty slot stays open before it is missed; one that was open then is told now. */
const OPEN_FOR = 3 / 4;
const MINUTE = 60_000;

interface EmptySlots {
  /** Epoch milliseconds, oldest first. */
  readonly missed: readonly number[];
  readonly declared: number;
  /** Of today, due and not yet missed: it can still be taken. */
  readonly late: number | null;
}

/**
 * Those that were not yet missed at a moment, and the newest that has begun, which the board calls late until somebody
 * measures: it stays on the list, whoever was told of it before.
 */
async function emptySlots(
  store: StoreReads,
  plant: PlantModel,
  plan: SamplingPlan,
  stream: Stream,
  since: number,
  now: number,
): Promise<EmptySlots> {
  const { utcOffsetMinutes } = plant.plant;
  const line = lineOf(plant, stationOf(plant, stream.stationId, 'stationId').lineId, 'lineId');
  const missed: number[] = [];
  let declared = 0;
  let late: number | null = null;
  const from = since - OPEN_FOR * plan.intervalMinutes * MINUTE;
  for (let moment = from; ; ) {
    const day = localDayOf(moment, utcOffsetMinutes);
    const until = Math.min(day.to - 1, now);
    const stoppages = stoppagesOf(await store.events(line.id, day), stream);
    const slots = await todaysSlots(store, plant, line, plan, stoppages, until);
    const begun = slots.filter(({ state }) => state !== 'upcoming' && state !== 'due');
    for (const slot of begun) {
      const at = Date.parse(slot.dueAt);
      const isNewest = until === now && slot === begun.at(-1);
      if (slot.state === 'done' || (at <= from && !isNewest)) continue;
      // A day that is over has no late samples any more.
      if (slot.state === 'late' && until === now) late = at;
      else missed.push(at);
      if (slot.state === 'declared missed') declared += 1;
    }
    if (day.to > now) return { missed, declared, late };
    moment = day.to;
  }
}

/** "2 samples of 10:30, 11:30 were not taken; the sample of 12:30 is late." */
function sentenceOf({ missed, declared, late }: EmptySlots, utcOffsetMinutes: number): string {
  const timeOf = (at: number): string => plantTime(at, utcOffsetMinutes).slice(11);
  if (missed.length === 0) return `The sample of ${timeOf(late!)} is late.`;
  const named = missed.slice(-MOST_TIMES_NAMED).map(timeOf).join(', ');
  const were = missed.length === 1 ? 'was' : 'were';
  const times =
    missed.length > MOST_TIMES_NAMED
      ? `${missed.length} samples ${were} not taken, the last of them at ${named}`
      : `${missed.length === 1 ? 'The sample' : `${missed.length} samples`} of ${named} ${were} not taken`;
  const reasons = declared > 0 ? `; a reason is recorded for ${declared} of ${missed.length}` : '';
  const still = late === null ? '' : `; the sample of ${timeOf(late)} is late`;
  return `${times}${reasons}${still}.`;
}

function nextStep({ missed, declared, late }: EmptySlots): string {
  const silent = missed.length > declared;
  if (late === null)
    return silent
      ? 'Have the reason recorded at Station, and measure as soon as it can be: parts since then are unchecked.'
      : 'Measure as soon as it can be: parts since then are unchecked.';
  const now = 'Measure now: the late sample can still be taken, and parts are unchecked until then.';
  return silent ? `${now} Have the reason for the others recorded at Station.` : now;
}

/** Planned samples that nobody took, whether or not somebody has said why, and those late; one matter a stream. */
export async function missedSampleMatters(
  store: StoreReads,
  plant: PlantModel,
  since: number,
  now: number,
): Promise<OpenMatter[]> {
  const matters: OpenMatter[] = [];
  for (const plan of plant.plans) {
    const stream = plant.streams.find(({ id }) => id === plan.streamId);
    if (stream === undefined) continue;
    const empty = await emptySlots(store, plant, plan, stream, since, now);
    const newest = empty.late ?? empty.missed.at(-1);
    if (newest === undefined) continue;
    matters.push(
      matter({
        // A late sample that is missed in the end is no other matter.
        key: `missed samples ${stream.id} ${newest}`,
        title: streamName(plant, stream.id),
        where: placeOf(plant, stream.id),
        sentence: sentenceOf(empty, plant.plant.utcOffsetMinutes),
        next: nextStep(empty),
      }),
    );
  }
  return matters;
}
