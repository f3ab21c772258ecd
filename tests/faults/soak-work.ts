/**
 * The work of the demo plant from the end of its history on, for as many days as asked: its generated days from the
 * third week on are worked through again and again, on later days that are the same weekday.
 */
import { randomUUID } from 'node:crypto';
import type { EventSubmission, SampleSubmission } from '../../api/schemas.ts';
import { eventLog, stationOfEvent } from '../../demo-data/event-log.ts';
import { streamId, streamKeys } from '../../demo-data/generator/baselines.ts';
import { timeOf } from '../../demo-data/generator/calendar.ts';
import { generateStream } from '../../demo-data/generator/generate-stream.ts';
import { plantedEvents } from '../../demo-data/generator/planted-events.ts';
import { DEMO_SEED } from '../../demo-data/load.ts';

const DAY = 24 * 3_600_000;
/** Three whole weeks, each with what the demo plants in it. */
const FIRST_DAY = 15;
const DAYS = 21;
/** The first day after the demo's history that is the weekday of FIRST_DAY: both are Mondays. */
const GOES_ON_AT = 43;

interface Doing {
  readonly at: number;
  readonly sample?: SampleSubmission;
  readonly event?: EventSubmission;
}

/** Oldest first. */
export function soakWork(days: number): readonly Doing[] {
  const options = { seed: DEMO_SEED, events: plantedEvents };
  const streams = new Map(streamKeys.map((key) => [streamId(key), generateStream(key, options)]));
  const from = timeOf(FIRST_DAY, '00:00');
  const until = from + DAYS * DAY;
  const within = (at: number): boolean => at >= from && at < until;
  const end = timeOf(GOES_ON_AT, '00:00') + days * DAY;
  const work: Doing[] = [];
  for (let shift = (GOES_ON_AT - FIRST_DAY) * DAY; from + shift < end; shift += DAYS * DAY) {
    for (const [stream, samples] of streams) {
      for (const { takenAt, model, readings, count, lot, typed, taken, entrySeconds } of samples) {
        if (!taken || !within(takenAt)) continue;
        const entered = readings?.map((value, position) => ({
          value: typed.find((slip) => slip.position === position)?.value ?? value,
        }));
        work.push({
          at: takenAt + shift + entrySeconds * 1000,
          sample: {
            id: randomUUID(),
            streamId: stream,
            modelId: model,
            takenAt: new Date(takenAt + shift).toISOString(),
            unit: count ? '1' : 'mm',
            ...(entered ? { readings: entered } : {}),
            ...(count ? { count } : {}),
            lot,
          },
        });
      }
    }
    for (const logged of eventLog(options, streams)) {
      if (!within(logged.at)) continue;
      const { lineId, key, kind, modelId, lot, text } = logged;
      work.push({
        at: logged.at + shift,
        event: {
          id: randomUUID(),
          lineId,
          stationId: stationOfEvent(logged),
          streamId: key === null ? null : streamId(key),
          kind,
          at: new Date(logged.at + shift).toISOString(),
          until: null,
          modelId,
          lot,
          text,
        },
      });
    }
  }
  return work.filter(({ at }) => at < end).sort((a, b) => a.at - b.at);
}

export const SOAK_BEGIN = timeOf(GOES_ON_AT, '00:00');
