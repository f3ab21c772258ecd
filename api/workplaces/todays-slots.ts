import { dueSamples, type DueSample as Slot } from '../../src/sampling-plan/due-samples.ts';
import { dayLength, localDay, midnight, type Stoppage } from '../../src/sampling-plan/running-hours.ts';
import { isoTime } from '../monitoring/payloads.ts';
import { longestInterval, plannedTimes } from '../monitoring/planned-times.ts';
import type { DueSample, Line, PlantModel, SamplingPlan } from '../schemas.ts';
import type { Period, StoreReads } from '../store/store.ts';

/** The local day that a moment lies in. */
export function localDayOf(moment: number, utcOffsetMinutes: number): Period {
  const from = midnight(localDay(moment, utcOffsetMinutes), utcOffsetMinutes);
  return { from, to: from + dayLength };
}

/**
 * The planned samples of a stream today, none from before it had a plan. Reads one day of samples, however many are
 * stored.
 */
export async function todaysSlots(
  store: StoreReads,
  plant: PlantModel,
  line: Line,
  { streamId }: SamplingPlan,
  stoppages: readonly Stoppage[],
  now: number,
): Promise<DueSample[]> {
  const { utcOffsetMinutes } = plant.plant;
  const day = localDayOf(now, utcOffsetMinutes);
  const plans = await plannedTimes(store, streamId);
  const reach = 1.5 * longestInterval(plans);
  const taken = await store.takenTimes(streamId, { from: day.from - reach, to: day.to + reach });
  const missed = await store.missedSamples(streamId, day);
  const slots = dueSamples({
    plans,
    runningHours: line.runningHours,
    utcOffsetMinutes,
    stoppages,
    ...day,
    now,
    takenAt: taken.map(({ takenAt }) => takenAt),
    declaredMissed: missed.map(({ dueAt }) => dueAt),
  });
  return slots.map(({ dueAt, state, takenIndex }: Slot) => ({
    dueAt: isoTime(dueAt),
    state,
    sampleId: takenIndex === null ? null : taken[takenIndex]!.sampleId,
  }));
}
