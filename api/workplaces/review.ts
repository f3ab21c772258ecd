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
import type { LimitsRow, Period } from '../store/store.ts';

/** Samples in one answer where the caller asks for no other number. */
const USUAL_SAMPLES = 500;
const MOST_ALARMS = 200;
/** Clocks of gauges may run ahead a little. */
const AHEAD = 86_400_000;

/** Versions in force at some time of the period, oldest first. The highest version that has begun is in force. */
function inForceDuring(versions: readonly LimitsRow[], period: Period): LimitsRow[] {
  return versions.filter(({ version, effectiveFrom }) => {
    const later = versions.filter((other) => other.version > version);
    const end = Math.min(...later.map((other) => other.effectiveFrom));
    return effectiveFrom <= period.to && end > period.from && end > effectiveFrom;
  });
}

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
  return {
    streamId,
    modelId,
    from: isoTime(from),
    to: isoTime(to),
    truncated,
    samples: samples.map(samplePayload),
    signals: (await store.signals(streamId, modelId, period)).map(signalPayload),
    limits: inForceDuring(await store.limitsVersions(streamId, modelId), period).map(limitsPayload),
    events: (await store.events(lineId, period)).map(eventPayload),
    alarms: [...alarms.values()].sort((a, b) => b.id - a.id),
  };
}
