import type { AppParts } from '../app-parts.ts';
import type { Received } from '../contract.ts';
import {
  eventPayload,
  isoTime,
  limitsPayload,
  samplePayload,
  signalPayload,
} from '../monitoring/payloads.ts';
import { modelOf, periodOf, stationOf, streamOf } from '../plant-lookup.ts';
import type { Alarm, Review } from '../schemas.ts';
import { limitsInForceDuring } from '../store/limits-in-force.ts';
import { sampleGaps } from './sample-gaps.ts';

/** Samples in one answer where the caller asks for no other number. */
const USUAL_SAMPLES = 500;
const MOST_ALARMS = 200;
/** Clocks of gauges may run ahead a little. */
const AHEAD = 86_400_000;

/** One stream and part model over a period, or its newest samples where no period is asked for. */
export async function buildReview(
  { store, monitoring, clock }: AppParts,
  query: Received<'GET /api/review'>['query'],
): Promise<Review> {
  const { streamId, modelId, limit = USUAL_SAMPLES } = query;
  const model = await store.plantModel();
  const stream = streamOf(model, streamId, 'streamId');
  modelOf(model, modelId, 'modelId');
  const { lineId } = stationOf(model, stream.stationId, 'streamId');
  const now = clock.now();
  const asked = periodOf(query.from ?? isoTime(0), query.to ?? isoTime(now + AHEAD));

  const found = await store.samples(streamId, modelId, asked, limit + 1);
  const truncated = found.length > limit;
  const samples = truncated ? found.slice(1) : found;
  const first = samples[0]?.takenAt;
  const last = samples.at(-1)?.takenAt;
  const to = query.to === undefined ? Math.max(now, last ?? now) : asked.to;
  const from = query.from === undefined || truncated ? Math.min(first ?? to, to) : asked.from;
  const period = { from, to };

  const raised = await monitoring.alarms({ streamId, modelId, period, limit: MOST_ALARMS });
  const stillOpen = await monitoring.alarms({ streamId, modelId, open: true, limit: MOST_ALARMS });
  const alarms = new Map<number, Alarm>();
  for (const alarm of [...raised, ...stillOpen]) {
    if (Date.parse(alarm.raisedAt) <= to) alarms.set(alarm.id, alarm);
  }
  const signals = await store.signals(streamId, modelId, period);
  const explained = (alarmId: number | null): boolean => {
    const alarm = alarmId === null ? undefined : alarms.get(alarmId);
    return alarm !== undefined && alarm.closedAt !== null && alarm.cause !== null;
  };
  const line = model.lines.find(({ id }) => id === lineId)!;
  const { gaps, since } = await sampleGaps(store, model, stream, line, period);
  return {
    streamId,
    modelId,
    from: isoTime(from),
    to: isoTime(to),
    truncated,
    samples: samples.map(samplePayload),
    signals: signals.map(signalPayload),
    limits: limitsInForceDuring(await store.limitsVersions(streamId, modelId), period).map(limitsPayload),
    events: (await store.events(lineId, period)).map(eventPayload),
    alarms: [...alarms.values()].sort((a, b) => b.id - a.id),
    explainedSignals: signals.filter(({ alarmId }) => explained(alarmId)).map(({ id }) => id),
    gaps,
    gapsSince: since === null ? null : isoTime(since),
  };
}
