import { suspectWindow } from '../../src/containment/suspect-window.ts';
import type { Containment } from '../schemas.ts';
import type { AlarmRow, EventRow, Period, StoreReads } from '../store/store.ts';
import { isoTime, isoTimeOrNull } from './payloads.ts';
import { type StreamContext, streamContext } from './stream-context.ts';

interface Lot {
  readonly from: number;
  readonly lot: string;
}

/**
 * What is suspect by an alarm: everything the line made since the last sample verified good before the signals, to
 * the first one verified good after the return to normal, to the closing, or until now. Parts of other models made
 * in between are counted with it: more is suspect rather than less.
 */
export async function containmentOf(store: StoreReads, alarm: AlarmRow, now: number): Promise<Containment> {
  const plant = await store.plantModel();
  const context = streamContext(plant, alarm.streamId, alarm.modelId);
  const { stream, modelId, line } = context;
  const span = await store.signalSpanOfAlarm(alarm.id);
  if (span.firstPointAt === null || span.lastAt === null) return nothingSuspect(alarm);

  const good = await store.lastGoodSample(stream.id, modelId, { from: 0, to: span.firstPointAt - 1 });
  const [first] = await store.chartedSamplesAfter(stream.id, modelId, { takenAt: 0, no: 0 }, 1);
  const begin = good?.takenAt ?? first?.takenAt ?? span.firstPointAt;
  const goodAgain = alarm.active
    ? null
    : await store.firstGoodSample(stream.id, modelId, { from: span.lastAt + 1, to: Number.MAX_SAFE_INTEGER });
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
  sentence: 'No parts are suspect by this alarm: every signal that raised it was withdrawn.',
});

const concerns = (event: EventRow, { stream }: StreamContext): boolean =>
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
