import { type DueSample, dueSamples } from '../../src/sampling-plan/due-samples.ts';
import { dayLength, localDay, midnight } from '../../src/sampling-plan/running-hours.ts';
import { plantTime } from '../plant-time.ts';
import { conflict, unacceptable, unknown } from '../problem.ts';
import type { Line, MissedSampleSubmission, PlantModel, SamplingPlan, Stream } from '../schemas.ts';
import type { MissedRow, StoreReads, StoreTransaction } from '../store/store.ts';
import { concerns } from './containment.ts';
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
  const plan = plant.plans.find(({ streamId }) => streamId === stream.id);
  if (plan === undefined) {
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

  const { slots, taken } = await slotsAround(store, plant, stream, line, plan, dueAt, now);
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
  const begin = await recordsBegin(store, plant, stream);
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
  plan: SamplingPlan,
  moment: number,
  now: number,
): Promise<{ readonly slots: readonly DueSample[]; readonly taken: readonly number[] }> {
  const interval = plan.intervalMinutes * 60_000;
  const reach = 4 * dayLength + interval;
  const period = { from: moment - reach, to: moment + reach };
  const taken = (await store.takenTimes(stream.id, period)).map(({ takenAt }) => takenAt);
  const events = await store.events(line.id, period);
  const slots = dueSamples({
    firstSampleAt: plan.firstSampleAt,
    intervalMinutes: plan.intervalMinutes,
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

/** The day on which the plan was first made, or the first sample where older ones were imported. */
async function recordsBegin(
  store: StoreReads,
  { plant, models }: PlantModel,
  { id }: Stream,
): Promise<number> {
  const [made] = await store.plantChanges('plans', id);
  const firsts = await Promise.all(
    models.map((model) => store.chartedSamplesAfter(id, model.id, { takenAt: 0, no: 0 }, 1)),
  );
  const firstTaken = Math.min(...firsts.flat().map(({ takenAt }) => takenAt));
  // There is a plan, so it was made once.
  const day = midnight(localDay(made!.at, plant.utcOffsetMinutes), plant.utcOffsetMinutes);
  return Math.min(day, firstTaken);
}
