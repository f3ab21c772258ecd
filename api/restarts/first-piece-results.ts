/** What was measured since a change of the set-up, held against the plan that was made before it. */
import { surelyOutside } from '../monitoring/measured-values.ts';
import { outsideSentence } from '../monitoring/outside-sentence.ts';
import { isoTime } from '../monitoring/payloads.ts';
import { isOutside } from '../monitoring/settle-alarm.ts';
import { type StreamContext, streamContext } from '../monitoring/stream-context.ts';
import type { CountedParts, FirstPieceResult, PlannedFirstPiece, PlantModel } from '../schemas.ts';
import type { EventRow, SampleRow, StoreReads } from '../store/store.ts';
import { type RestartRow, restartEntries } from './restart-records.ts';

/** Samples of one stream that are looked through; a restart that waits for longer has many. */
const MOST_SAMPLES = 100;
const never = Number.MAX_SAFE_INTEGER;

/**
 * The newest sample of each planned stream since the set-up is as it is now: since the change, since the engineer last
 * refused it, and since the machine was last adjusted there, for what was measured before that says nothing of it.
 */
export async function firstPieceResults(
  store: StoreReads,
  plant: PlantModel,
  restart: RestartRow,
): Promise<readonly FirstPieceResult[]> {
  const entries = await restartEntries(store.sql, restart.no);
  const refusedAt = entries.findLast(({ kind }) => kind === 'refused')?.at ?? restart.at;
  // Clocks of gauges may run ahead a little: whatever was taken since counts.
  const events = await store.events(restart.lineId, { from: restart.at, to: never });
  const adjustments = events.filter(({ kind, at }) => kind === 'adjustment' && at > restart.at);
  const results: FirstPieceResult[] = [];
  for (const item of restart.plan) {
    const adjustedAt = adjustments.filter((event) => touches(plant, event, item)).map(({ at }) => at);
    const since = Math.max(restart.at, refusedAt, ...adjustedAt);
    results.push(await resultOf(store, plant, restart, item, since));
  }
  return results;
}

/** An adjustment may move everything that its station measures. */
function touches(plant: PlantModel, event: EventRow, { streamId }: PlannedFirstPiece): boolean {
  const stationOf = (id: string | null) =>
    plant.streams.find((stream) => stream.id === id)?.stationId ?? null;
  const stationId = event.stationId ?? stationOf(event.streamId);
  return stationId === null || stationId === stationOf(streamId);
}

async function resultOf(
  store: StoreReads,
  plant: PlantModel,
  { modelId }: RestartRow,
  item: PlannedFirstPiece,
  since: number,
): Promise<FirstPieceResult> {
  const samples: SampleRow[] = [];
  for (const id of modelId === null ? plant.models.map((model) => model.id) : [modelId]) {
    samples.push(...(await store.samples(item.streamId, id, { from: since, to: never }, MOST_SAMPLES)));
  }
  samples.sort((a, b) => a.takenAt - b.takenAt || a.no - b.no);
  const newest = samples.pop();
  const nothing = {
    streamId: item.streamId,
    pieces: item.pieces,
    measuredSince: isoTime(since),
    earlierOutside: 0,
  } as const;
  if (newest === undefined) {
    return {
      ...nothing,
      state: 'not-measured',
      sentence: isCounted(plant, item)
        ? `Not counted yet: inspect what there is and count; the plan's sample is ${item.pieces}.`
        : `Not measured yet: take ${pieces(item.pieces)}.`,
      sampleId: null,
      revision: null,
      takenAt: null,
      values: [],
      count: null,
      outsideSpecification: [],
      signals: [],
      hasDrawingLimits: false,
      hasControlLimits: false,
    };
  }
  let earlierOutside = 0;
  for (const sample of samples) if (await isOutside(store, sample)) earlierOutside += 1;
  const context = streamContext(plant, item.streamId, newest.modelId);
  const signals = (await store.signalsOfSample(newest.id)).filter(({ withdrawnAt }) => withdrawnAt === null);
  const judged: Judged = {
    item,
    sample: newest,
    outside: await outsideInWords(store, newest, context),
    signals: signals.map(({ sentence }) => sentence),
    hasControlLimits: context.settings !== null && newest.limitsVersion !== null,
    hasDrawingLimits: newest.count !== null || context.specification !== null,
  };
  return {
    ...nothing,
    ...stateOf(judged),
    sampleId: newest.id,
    revision: newest.revision,
    takenAt: isoTime(newest.takenAt),
    values: (newest.readings ?? []).map(({ value }) => value),
    count: newest.count,
    outsideSpecification: [...newest.outsideSpecification],
    signals: judged.signals,
    hasDrawingLimits: judged.hasDrawingLimits,
    hasControlLimits: judged.hasControlLimits,
    earlierOutside,
  };
}

/** In the words of the drawing, or in those that a count was answered with; null: not surely outside. */
async function outsideInWords(
  store: StoreReads,
  sample: SampleRow,
  context: StreamContext,
): Promise<string | null> {
  if (sample.count === null) {
    const outside = surelyOutside(sample);
    return outside.length === 0 ? null : outsideSentence(sample, outside, context);
  }
  if (!(await isOutside(store, sample))) return null;
  return (await store.newestAnswer(sample.id))?.verdict.sentence ?? '';
}

interface Judged {
  readonly item: PlannedFirstPiece;
  readonly sample: SampleRow;
  /** null: inside. */
  readonly outside: string | null;
  readonly signals: string[];
  readonly hasControlLimits: boolean;
  readonly hasDrawingLimits: boolean;
}

const pieces = (count: number): string => (count === 1 ? '1 piece' : `${count} pieces`);

const isCounted = (plant: PlantModel, { streamId }: PlannedFirstPiece): boolean => {
  const stream = plant.streams.find(({ id }) => id === streamId);
  return plant.characteristics.find(({ id }) => id === stream?.characteristicId)?.kind === 'count';
};

/** What was inspected beside what the plan asks for, so that the engineer can judge whether it is enough. */
const counted = ({ inspected, nonconforming }: CountedParts, item: PlannedFirstPiece): string =>
  `${nonconforming} of ${inspected} nonconforming; the plan's sample is ${item.pieces}${inspected < item.pieces ? ' (fewer were inspected: judge whether they are enough)' : ''}`;

/** The product before the process: pieces outside the drawing are the worse news. */
function stateOf(judged: Judged): Pick<FirstPieceResult, 'state' | 'sentence'> {
  const { item, sample, outside, signals, hasControlLimits, hasDrawingLimits } = judged;
  if (outside !== null) return { state: 'outside', sentence: outside };
  if (sample.questions.length > 0) {
    const sentence = `A value is in doubt: ${sample.questions[0]!.sentence} Measure the same piece again, then correct or confirm it.`;
    return { state: 'in-doubt', sentence };
  }
  // Any count will do, with its size beside it: a plan of some hundred pieces would hold the line for as long as it
  // takes to make them.
  if (sample.count === null && sample.size < item.pieces) {
    const sentence = `${pieces(sample.size)} of ${item.pieces} measured; take a whole sample.`;
    return { state: 'too-few', sentence };
  }
  const drawing =
    sample.count !== null
      ? counted(sample.count, item)
      : hasDrawingLimits
        ? 'Inside the drawing'
        : 'The drawing sets no limits for this part model';
  if (signals.length === 0) {
    const chart = hasControlLimits ? 'no signal' : 'not judged by a control chart';
    return { state: 'good', sentence: `${drawing}, ${chart}.` };
  }
  // A plan may say that the signals of its stream call nobody; then they are shown and decide nothing.
  const sentence = `${drawing}, but there is a signal: ${signals[0]!}`;
  return item.signalsCall
    ? { state: 'signal', sentence }
    : { state: 'good', sentence: `${sentence} By the sampling plan it calls nobody.` };
}
