import { type DueSample, dueSamples } from '../../src/sampling-plan/due-samples.ts';
import { dayLength } from '../../src/sampling-plan/running-hours.ts';
import { isoTime, missedPayload } from '../monitoring/payloads.ts';
import { backToTheFirstRecord, longestInterval, plannedTimes } from '../monitoring/planned-times.ts';
import type { Line, PlantModel, SampleGap, Stream } from '../schemas.ts';
import type { MissedRow, Period, StoreReads } from '../store/store.ts';
import { stoppagesOf } from './line-state.ts';

/** Planned samples are counted over so many days, however long the period is. */
const MOST_DAYS = 60;
const MOST_GAPS = 500;

interface SampleGaps {
  readonly gaps: SampleGap[];
  /** Gaps are listed from here on; null without a sampling plan. */
  readonly since: number | null;
}

/** The newest sample of a stream before a moment, over all models; one row is read for each. */
async function takenBefore(
  store: StoreReads,
  plant: PlantModel,
  streamId: string,
  moment: number,
): Promise<number | null> {
  const period = { from: moment - MOST_DAYS * dayLength, to: moment - 1 };
  let newest: number | null = null;
  for (const { id } of plant.models) {
    const takenAt = (await store.samples(streamId, id, period, 1))[0]?.takenAt;
    if (takenAt !== undefined && (newest === null || takenAt > newest)) newest = takenAt;
  }
  return newest;
}

/**
 * Planned samples of a stream that were not taken, whichever model ran: those between two samples, and those that
 * a person declared missed. What is due after the newest sample is for Station and Floor to say.
 */
export async function sampleGaps(
  store: StoreReads,
  plant: PlantModel,
  stream: Stream,
  line: Line,
  period: Period,
): Promise<SampleGaps> {
  const plans = backToTheFirstRecord(await plannedTimes(store, stream.id));
  if (plans.length === 0) return { gaps: [], since: null };
  // The end of a period is mostly now, long after the newest sample of an old record: days count back from that.
  const newest = (await takenBefore(store, plant, stream.id, period.to + 1)) ?? period.to;
  const since = Math.max(period.from, newest - MOST_DAYS * dayLength);
  const before = await takenBefore(store, plant, stream.id, since);
  const taken = (await store.takenTimes(stream.id, { from: since, to: period.to })).map((one) => one.takenAt);
  if (before !== null) taken.unshift(before);
  const declared = new Map<number, MissedRow>();
  for (const row of await store.missedSamples(stream.id, { from: since, to: period.to }))
    declared.set(row.dueAt, row);
  const places = [...taken, ...declared.keys()];
  if (places.length === 0) return { gaps: [], since };

  const [first, last] = ends(places);
  const interval = longestInterval(plans);
  const slots = dueSamples({
    plans,
    runningHours: line.runningHours,
    utcOffsetMinutes: plant.plant.utcOffsetMinutes,
    stoppages: stoppagesOf(await store.events(line.id, { from: first, to: last }), stream),
    from: first - interval / 2,
    to: last + 1,
    // Every empty slot is missed by then.
    now: last + 1 + interval,
    takenAt: taken,
    declaredMissed: [...declared.keys()],
  });
  const gaps = runsOfMissed(slots).flatMap((dueAt): SampleGap[] => {
    const firstDueAt = dueAt[0]!;
    const lastDueAt = dueAt.at(-1)!;
    const begin = taken.findLast((time) => time < firstDueAt);
    const end = taken.find((time) => time > lastDueAt);
    const reasons = dueAt.flatMap((time) => declared.get(time) ?? []);
    if (reasons.length === 0 && (begin === undefined || end === undefined)) return [];
    if ((end ?? lastDueAt) <= since) return [];
    return [
      {
        before: begin === undefined ? null : isoTime(begin),
        after: end === undefined ? null : isoTime(end),
        firstDueAt: isoTime(firstDueAt),
        lastDueAt: isoTime(lastDueAt),
        missing: dueAt.length,
        declared: reasons.map(missedPayload),
      },
    ];
  });
  const listed = gaps.slice(-MOST_GAPS);
  return {
    gaps: listed,
    since: gaps.length > MOST_GAPS ? Date.parse(listed[0]!.firstDueAt) : since,
  };
}

/** Slots that nobody filled, those in a row together. */
function runsOfMissed(slots: readonly DueSample[]): number[][] {
  const runs: number[][] = [];
  let open = false;
  for (const { dueAt, state } of slots) {
    const missed = state === 'missed' || state === 'declared missed';
    if (missed && open) runs.at(-1)!.push(dueAt);
    else if (missed) runs.push([dueAt]);
    open = missed;
  }
  return runs;
}

/** Lowest and highest, without a call of as many arguments as there are samples. */
function ends(places: readonly number[]): [number, number] {
  return places.reduce<[number, number]>(
    ([low, high], place) => [Math.min(low, place), Math.max(high, place)],
    [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY],
  );
}
