import { suspectWindow } from '../../src/containment/suspect-window.ts';
import type { Containment } from '../schemas.ts';
import type { AlarmRow, EventRow, Period, StoreReads } from '../store/store.ts';
import { isoTime, isoTimeOrNull } from './payloads.ts';
import { type StreamContext, streamContext } from './stream-context.ts';

interface Lot {
  readonly from: number;
  readonly lot: string;
}

const never = Number.MAX_SAFE_INTEGER;

/**
 * What is suspect by an alarm: everything the line made since the last sample verified good before its first ground,
 * to the first one verified good after the return to normal, to the closing, or until now. Parts of other models
 * made in between are counted with it, and a change of limits frees none: more is suspect rather than less.
 */
export async function containmentOf(store: StoreReads, alarm: AlarmRow, now: number): Promise<Containment> {
  const plant = await store.plantModel();
  const context = streamContext(plant, alarm.streamId, alarm.modelId);
  const { stream, modelId, line } = context;
  const signals = await store.signalSpanOfAlarm(alarm.id);
  const outside = await store.outsideSpanOfAlarm(alarm.id);
  const firstAt = Math.min(signals.firstPointAt ?? never, outside.firstAt ?? never);
  const lastAt = Math.max(signals.lastAt ?? 0, outside.lastAt ?? 0);
  if (firstAt === never) return nothingSuspect(alarm);

  // What stood when the alarm was raised casts suspicion, though other limits may have withdrawn it since.
  const { raisedAt } = alarm;
  const good = await store.lastGoodSample(stream.id, modelId, { from: 0, to: firstAt - 1 }, raisedAt);
  const [first] = await store.chartedSamplesAfter(stream.id, modelId, { takenAt: 0, no: 0 }, 1);
  const begin = good?.takenAt ?? first?.takenAt ?? firstAt;
  const goodAgain = alarm.active
    ? null
    : await store.firstGoodSample(stream.id, modelId, { from: lastAt + 1, to: never }, raisedAt);
  const to = goodAgain?.takenAt ?? alarm.closedAt;
  const period = { from: begin, to: Math.max(begin, to ?? now) };
  const events = await store.events(line.id, period);
  const window = suspectWindow({
    lastGoodAt: good?.takenAt ?? null,
    firstSuspectAt: good === null ? begin : null,
    until: period.to,
    runningHours: line.runningHours,
    utcOffsetMinutes: plant.plant.utcOffsetMinutes,
    partsPerHour: line.partsPerHour,
    stoppages: events
      .filter((event) => event.kind === 'stoppage' && concerns(event, context))
      .map(({ at, until }) => ({ from: at, to: until })),
    lots: await lotsIn(store, context, period, events),
  });
  return {
    from: isoTime(window.from),
    to: isoTimeOrNull(to),
    lastGoodSampleId: good?.id ?? null,
    runningHours: window.runningHours,
    suspectParts: window.suspectParts,
    lots: [...window.lots],
    sentence: window.sentence,
  };
}

const nothingSuspect = (alarm: AlarmRow): Containment => ({
  from: isoTime(alarm.raisedAt),
  to: isoTime(alarm.raisedAt),
  lastGoodSampleId: null,
  runningHours: 0,
  suspectParts: 0,
  lots: [],
  sentence: 'No parts are suspect by this alarm: everything that raised it was corrected.',
});

/** Does an event of the line touch this stream? */
export const concerns = (event: EventRow, { stream }: Pick<StreamContext, 'stream'>): boolean =>
  (event.stationId === null || event.stationId === stream.stationId) &&
  (event.streamId === null || event.streamId === stream.id);

/** Coil lots by the events of the line, and those that only the samples name. */
async function lotsIn(
  store: StoreReads,
  context: StreamContext,
  period: Period,
  events: readonly EventRow[],
): Promise<Lot[]> {
  const { line, stream, modelId } = context;
  const before = await store.latestEvent(line.id, 'coil', period.from);
  const coils = events.filter(({ kind }) => kind === 'coil');
  const lots: Lot[] = (before === null ? coils : [before, ...coils]).map(({ at, lot }) => ({
    from: at,
    lot: lot ?? '',
  }));
  const onSamples = await store.lotsOfSamples(stream.id, modelId, period);
  let previous = period.from;
  for (const { lot, takenAt } of onSamples) {
    // The coil was changed somewhere between two samples; the middle makes both lots suspect.
    if (!lots.some((known) => known.lot === lot))
      lots.push({ from: Math.round((previous + takenAt) / 2), lot });
    previous = takenAt;
  }
  return lots;
}
