import type { AppParts } from '../app-parts.ts';
import { outsideSentence } from '../monitoring/outside-sentence.ts';
import { isoTime, isoTimeOrNull } from '../monitoring/payloads.ts';
import { isOutside } from '../monitoring/settle-alarm.ts';
import { streamContext } from '../monitoring/stream-context.ts';
import { refusedCount } from '../mqtt/refused-measurements.ts';
import { deadCount } from '../notify/deliveries.ts';
import { lineOf, stationOf } from '../plant-lookup.ts';
import { waitingRestarts } from '../restarts/restart-payload.ts';
import { floodsNow } from '../routing/floods.ts';
import type { Alarm, DueSample, Floor, FloorStream, Line, PlantModel, Stream } from '../schemas.ts';
import type { EventRow, SampleRow, StoreReads } from '../store/store.ts';
import { type LineState, lineState, runsAt, stoppagesOf } from './line-state.ts';
import { localDayOf, todaysSlots } from './todays-slots.ts';

const MOST_ALARMS = 1000;

interface RunningLine {
  readonly line: Line;
  readonly state: LineState;
  readonly events: readonly EventRow[];
}

/** Nothing was measured for longer than the plan allows: the newest slot is late, or missed with nothing after it. */
function isLate(slots: readonly DueSample[]): boolean {
  const begun = slots.filter(({ state }) => state !== 'upcoming' && state !== 'due');
  const newest = begun.at(-1)?.state;
  return newest === 'late' || newest === 'missed';
}

/** Why the newest sample is not quiet though no alarm is open; null where it is. */
async function signalSentence(
  store: StoreReads,
  plant: PlantModel,
  latest: SampleRow | null,
): Promise<string | null> {
  if (latest === null) return null;
  const { streamId, modelId, outsideSpecification } = latest;
  if (await isOutside(store, latest)) {
    if (latest.count !== null) return (await store.newestAnswer(latest.id))?.verdict.sentence ?? '';
    return outsideSentence(latest, outsideSpecification, streamContext(plant, streamId, modelId));
  }
  const signals = await store.signalsOfSample(latest.id);
  const signal = signals.find(({ withdrawnAt }) => withdrawnAt === null);
  if (signal === undefined) return null;
  const [alarm] = await store.alarms({ streamId, modelId, open: false, limit: 1 });
  const why = alarm?.active
    ? 'The alarm was closed, but the last sample still stands on a signal'
    : 'The last sample stands on a signal that raised no alarm';
  return `${why}: ${signal.sentence.charAt(0).toLowerCase()}${signal.sentence.slice(1)}`;
}

async function lastSentence(store: StoreReads, latest: SampleRow | null): Promise<string> {
  if (latest === null) return 'No sample yet.';
  if (latest.revision > 1) return 'The last sample was corrected.';
  const answer = await store.acceptedAnswer(latest.id);
  return answer?.verdict.sentence ?? '';
}

async function buildStream(
  store: StoreReads,
  plant: PlantModel,
  stream: Stream,
  { line, state, events }: RunningLine,
  alarm: Alarm | undefined,
  now: number,
): Promise<FloorStream> {
  const plan = plant.plans.find(({ streamId }) => streamId === stream.id);
  const stoppages = stoppagesOf(events, stream);
  const slots = plan ? await todaysSlots(store, plant, line, plan, stoppages, now) : [];
  const latest = await store.latestSample(stream.id);
  const modelId = state.modelId ?? latest?.modelId ?? null;
  const limits = modelId === null ? null : await store.limitsAt(stream.id, modelId, now);

  const signal = alarm ? null : await signalSentence(store, plant, latest);

  const worst = (): FloorStream['state'] => {
    if (alarm) return 'alarm';
    if (signal !== null) return 'signal';
    if (!runsAt(now, plant, line, stoppages)) return 'idle';
    if (isLate(slots)) return 'late';
    if (plan === undefined || plan.chart === 'none') return 'not-charted';
    return limits === null ? 'no-limits' : 'steady';
  };
  return {
    streamId: stream.id,
    state: worst(),
    lastSampleAt: isoTimeOrNull(latest?.takenAt ?? null),
    lastSentence: alarm?.sentence ?? signal ?? (await lastSentence(store, latest)),
    alarmId: alarm?.id ?? null,
    missedToday: slots.filter(({ state: slot }) => slot === 'missed' || slot === 'declared missed').length,
  };
}

/** Every stream at a glance, and the open alarms with what is suspect. */
export async function buildFloor(parts: AppParts): Promise<Floor> {
  const { store, monitoring, clock } = parts;
  const plant = await store.plantModel();
  const now = clock.now();
  const today = localDayOf(now, plant.plant.utcOffsetMinutes);
  const alarms = await monitoring.alarms({ open: true, limit: MOST_ALARMS });

  const lines = new Map<string, RunningLine>();
  for (const line of plant.lines) {
    const events = await store.events(line.id, today);
    lines.set(line.id, { line, state: await lineState(store, plant, line, now), events });
  }
  const streams: FloorStream[] = [];
  for (const stream of plant.streams) {
    const { lineId } = stationOf(plant, stream.stationId, 'stationId');
    const running = lines.get(lineOf(plant, lineId, 'lineId').id)!;
    const alarm = alarms.find(({ streamId }) => streamId === stream.id);
    streams.push(await buildStream(store, plant, stream, running, alarm, now));
  }
  return {
    now: isoTime(now),
    streams,
    alarms,
    restarts: await waitingRestarts(store, now),
    floods: await floodsNow(store.sql, now),
    deadMessages: await deadCount(store.sql),
    refusedMeasurements: await refusedCount(store.sql),
  };
}
