import { type DueSample, dueSamples, type PlannedTimes } from '../../src/sampling-plan/due-samples.ts';
import { dayLength } from '../../src/sampling-plan/running-hours.ts';
import { plantTime } from '../plant-time.ts';
import { conflict, unacceptable, unknown } from '../problem.ts';
import type { Line, MissedSampleSubmission, PlantModel, Stream } from '../schemas.ts';
import type { MissedRow, StoreReads, StoreTransaction } from '../store/store.ts';
import { concerns } from './containment.ts';
import { backToTheFirstRecord, longestInterval, plannedTimes } from './planned-times.ts';
import { requirePerson } from './stream-context.ts';
import { validTime } from './validate-sample.ts';

/** A planned sample that was not taken, with an honest reason. Said again it stays as it was said first. */
export async function declareMissed(
  store: StoreTransaction,
  plant: PlantModel,
  submission: MissedSampleSubmission,
  personId: string,
  now: number,
): Promise<{ readonly missed: MissedRow; readonly isNew: boolean }> {
  const { streamId, reason } = submission;
  requirePerson(plant, personId);
  const stream = plant.streams.find(({ id }) => id === streamId);
  if (stream === undefined) throw unknown('stream', streamId, 'streamId');
  const due = { field: 'dueAt', subject: 'The time at which the sample was due' };
  const dueAt = validTime(submission.dueAt, due, now, plant.plant);
  const stored = await store.missedSample(streamId, dueAt);
  if (stored === null) {
    await refuseUnlessMissed(store, plant, stream, dueAt, now);
    const missed = { streamId, dueAt, reason, personId, at: now };
    await store.addMissedSample(missed);
    return { missed, isNew: true };
  }
  if (stored.reason === reason) return { missed: stored, isNew: false };
  const by = plant.people.find(({ id }) => id === stored.personId)?.name ?? stored.personId;
  throw conflict(
    'dueAt',
    `This sample is declared missed already, by ${by}: "${stored.reason}". The first reason stays.`,
  );
}

/** Only a sample that was planned, and that nobody took, can have been missed. */
async function refuseUnlessMissed(
  store: StoreReads,
  plant: PlantModel,
  stream: Stream,
  dueAt: number,
  now: number,
): Promise<void> {
  const plans = await plannedTimes(store, stream.id);
  if (plans.length === 0) {
    throw unacceptable(
      'streamId',
      `${stream.name} has no sampling plan, so no sample of it was due; make a plan in Setup first.`,
    );
  }
  // Saved records always refer to records that exist.
  const station = plant.stations.find(({ id }) => id === stream.stationId)!;
  const line = plant.lines.find(({ id }) => id === station.lineId)!;
  const { utcOffsetMinutes } = plant.plant;
  const local = (time: number) => plantTime(time, utcOffsetMinutes);

  const { slots, taken } = await slotsAround(store, plant, stream, line, plans, dueAt, now);
  const slot = slots.find((candidate) => candidate.dueAt === dueAt);
  if (slot === undefined) {
    const before = slots.findLast((candidate) => candidate.dueAt < dueAt);
    const after = slots.find((candidate) => candidate.dueAt > dueAt);
    const near = [before, after].flatMap((one) => (one === undefined ? [] : [local(one.dueAt)]));
    const nearest =
      near.length === 0 ? 'none is planned near it' : `the nearest are due ${near.join(' and ')}`;
    throw unacceptable(
      'dueAt',
      `No sample of ${stream.name} was due ${local(dueAt)} (plant time): ${nearest}.`,
    );
  }
  if (slot.takenIndex !== null) {
    const takenAt = local(taken[slot.takenIndex]!);
    throw conflict(
      'dueAt',
      `The sample due ${local(dueAt)} was not missed: it was taken ${takenAt} (plant time).`,
    );
  }
  const begin = await recordsBegin(store, plant, stream, plans);
  if (dueAt < begin) {
    throw unacceptable(
      'dueAt',
      `The records of ${stream.name} begin ${local(begin)} (plant time); no sample before can have been missed.`,
    );
  }
}

/** The planned samples of some days around a moment, far enough to name one on either side of a weekend. */
async function slotsAround(
  store: StoreReads,
  plant: PlantModel,
  stream: Stream,
  line: Line,
  plans: readonly PlannedTimes[],
  moment: number,
  now: number,
): Promise<{ readonly slots: readonly DueSample[]; readonly taken: readonly number[] }> {
  const interval = longestInterval(plans);
  const reach = 4 * dayLength + 1.5 * interval;
  const period = { from: moment - reach, to: moment + reach };
  const taken = (await store.takenTimes(stream.id, period)).map(({ takenAt }) => takenAt);
  const events = await store.events(line.id, period);
  const slots = dueSamples({
    plans: backToTheFirstRecord(plans),
    runningHours: line.runningHours,
    utcOffsetMinutes: plant.plant.utcOffsetMinutes,
    stoppages: events
      .filter((event) => event.kind === 'stoppage' && concerns(event, { stream }))
      .map(({ at, until }) => ({ from: at, to: until })),
    ...period,
    now,
    takenAt: taken,
    declaredMissed: [],
  });
  return { slots, taken };
}

/** When the plan was first made, or the slot of the first sample where older ones were imported. */
async function recordsBegin(
  store: StoreReads,
  { models }: PlantModel,
  { id }: Stream,
  [first]: readonly PlannedTimes[],
): Promise<number> {
  const firsts = await Promise.all(
    models.map((model) => store.chartedSamplesAfter(id, model.id, { takenAt: 0, no: 0 }, 1)),
  );
  return Math.min(first!.since!, ...firsts.flat().map(({ takenAt }) => takenAt));
}
