import type { ChartKind, ControlLimits } from '../../src/charts/control-chart.ts';
import { evaluateNewest, evaluateSeries, windowLength } from '../../src/charts/variables/evaluate-newest.ts';
import { signalSentence } from '../../src/run-rules/signal-sentence.ts';
import { endOfForce } from '../store/limits-in-force.ts';
import type {
  ChartedSample,
  LimitsInForce,
  NewSignal,
  SamplePlace,
  SignalRow,
  StoreReads,
} from '../store/store.ts';
import type { StreamContext } from './stream-context.ts';

/** A sample among those that are judged together. `id` may be left to be looked up. */
export interface SeriesSample extends ChartedSample {
  readonly id?: string;
}

/** Number of a sample that is not stored yet: after every other of the same time. */
export const NOT_STORED = Number.MAX_SAFE_INTEGER;

/** What the charts say of one sample. */
export interface Evaluation {
  readonly location: { readonly value: number | null; readonly limits: ControlLimits | null };
  readonly spread: { readonly value: number | null; readonly limits: ControlLimits | null };
  readonly stands: boolean;
}

export type DraftSignal = Omit<NewSignal, 'id' | 'alarmId'>;

export interface Judgement {
  /** Of each judged sample, oldest first. */
  readonly evaluations: readonly Evaluation[];
  readonly added: readonly DraftSignal[];
  /** Stored signals that still stand. */
  readonly kept: readonly SignalRow[];
  /** Stored signals that lost their ground. */
  readonly withdrawn: readonly SignalRow[];
}

const statistics = {
  'mean-range': { location: 'mean', spread: 'range' },
  'mean-standard-deviation': { location: 'mean', spread: 'standard deviation' },
  'individuals-moving-range': { location: 'individual value', spread: 'moving range' },
} as const satisfies Record<ChartKind, unknown>;

/** How many samples before a sample its judgement looks at, and so how many after it a change of it can reach. */
const reachOf = (context: StreamContext): number =>
  context.settings === null ? 0 : windowLength(context.settings) - 1;

/** A sample among its neighbours under the same version of the limits. */
export interface Surroundings {
  /** In the reach before it, oldest first. */
  readonly before: readonly ChartedSample[];
  /** In the reach after it. */
  readonly after: readonly ChartedSample[];
  /** No sample of the stream and model was taken after it. */
  readonly isNewest: boolean;
}

/** Of a sample that is not stored yet. Samples mostly come in the order in which they were taken: one reading. */
export async function surroundingsOfNew(
  store: StoreReads,
  context: StreamContext,
  limits: LimitsInForce,
  takenAt: number,
): Promise<Surroundings> {
  const { stream, modelId } = context;
  const wanted = Math.max(1, reachOf(context));
  const newest = await store.newestCharted(stream.id, modelId, wanted);
  const last = newest.at(-1);
  if (last !== undefined && last.takenAt > takenAt) {
    return surroundingsOf(store, context, limits, { takenAt, no: NOT_STORED });
  }
  const before = reachOf(context) === 0 ? [] : sinceVersion(newest, limits);
  return { before, after: [], isNewest: true };
}

export async function surroundingsOf(
  store: StoreReads,
  context: StreamContext,
  limits: LimitsInForce,
  place: SamplePlace,
): Promise<Surroundings> {
  const { stream, modelId } = context;
  const reach = reachOf(context);
  const before = await samplesBefore(store, context, limits, place);
  const later = await store.chartedSamplesAfter(stream.id, modelId, place, Math.max(1, reach));
  if (later.length === 0 || reach === 0) return { before, after: [], isNewest: later.length === 0 };
  const versions = await store.limitsVersions(stream.id, modelId);
  const end = endOfForce(versions, limits);
  const after = later.filter(({ takenAt }) => takenAt < end);
  return { before, after, isNewest: false };
}

export async function samplesBefore(
  store: StoreReads,
  context: StreamContext,
  limits: LimitsInForce,
  place: SamplePlace,
): Promise<readonly ChartedSample[]> {
  const reach = reachOf(context);
  if (reach === 0) return [];
  const { stream, modelId } = context;
  return sinceVersion(await store.chartedSamplesBefore(stream.id, modelId, place, reach), limits);
}

const sinceVersion = (samples: readonly ChartedSample[], { effectiveFrom }: LimitsInForce) =>
  samples[0] === undefined || samples[0].takenAt >= effectiveFrom
    ? samples
    : samples.filter(({ takenAt }) => takenAt >= effectiveFrom);

/**
 * Judges the samples of a series from index `from` on and compares with the signals stored for them. The series
 * lies under one version of the limits and begins far enough before `from`.
 */
export async function judge(
  store: StoreReads,
  context: StreamContext,
  limits: LimitsInForce,
  series: readonly SeriesSample[],
  from: number,
  now: number,
): Promise<Judgement> {
  const { settings, stream, modelId } = context;
  if (settings === null) throw new Error('a stream without a chart is not judged');
  const results =
    from === series.length - 1
      ? [evaluateNewest(series, limits, settings)]
      : evaluateSeries(series, limits, settings).slice(from);
  const names = statistics[settings.kind];
  const drafts: DraftSignal[] = [];
  for (const [offset, result] of results.entries()) {
    const sample = series[from + offset]!;
    for (const { chart, rule, points, side } of result.signals) {
      const on = points.map((index) => series[index]!);
      drafts.push({
        sampleId: await idOf(store, sample),
        streamId: stream.id,
        modelId,
        takenAt: sample.takenAt,
        limitsVersion: limits.version,
        chart,
        rule,
        side,
        points: await Promise.all(on.map((point) => idOf(store, point))),
        firstPointAt: on[0]!.takenAt,
        sentence: signalSentence({ rule, chart, side, statistic: names[chart] }),
        at: now,
      });
    }
  }
  const evaluations = results.map(({ location, spread, signals }) => ({
    location,
    spread,
    stands: signals.length > 0,
  }));
  const standing = await storedSignals(store, context, series.slice(from));
  const stored = new Set(standing.map(keyOf));
  const drawn = new Set(drafts.map(keyOf));
  return {
    evaluations,
    added: drafts.filter((draft) => !stored.has(keyOf(draft))),
    kept: standing.filter((signal) => drawn.has(keyOf(signal))),
    withdrawn: standing.filter((signal) => !drawn.has(keyOf(signal))),
  };
}

async function idOf(store: StoreReads, { id, no }: SeriesSample): Promise<string> {
  return id ?? (await store.sampleIds([no]))[0]!;
}

const keyOf = (signal: DraftSignal): string =>
  [signal.sampleId, signal.limitsVersion, signal.chart, signal.rule, signal.side, ...signal.points].join(' ');

/** Signals that stand on samples of a series which are stored. */
async function storedSignals(
  store: StoreReads,
  { stream, modelId }: StreamContext,
  series: readonly SeriesSample[],
): Promise<readonly SignalRow[]> {
  const stored = series.filter(({ no }) => no !== NOT_STORED);
  if (stored.length === 0) return [];
  const period = { from: stored[0]!.takenAt, to: stored.at(-1)!.takenAt };
  const nos = new Set(stored.map(({ no }) => no));
  const signals = await store.signals(stream.id, modelId, period);
  return signals.filter(({ sampleNo, withdrawnAt }) => withdrawnAt === null && nos.has(sampleNo));
}

/** Does the newest sample stand on a stored signal? null: none was taken after this place. */
export async function laterStands(
  store: StoreReads,
  context: StreamContext,
  place: SamplePlace,
): Promise<boolean | null> {
  const { stream, modelId } = context;
  const [later] = await store.chartedSamplesAfter(stream.id, modelId, place, 1);
  if (later === undefined) return null;
  const [newest] = await store.chartedSamples(stream.id, modelId, { from: 0, to: NOT_STORED }, 1);
  return (await storedSignals(store, context, [newest!])).length > 0;
}

/** Does the newest sample of the chart stand on a signal, once the judged samples are stored? */
export async function newestStands(
  store: StoreReads,
  context: StreamContext,
  judged: readonly SeriesSample[],
  { evaluations }: Judgement,
  isNewest = false,
): Promise<boolean> {
  const last = judged.at(-1)!;
  if (isNewest) return evaluations.at(-1)!.stands;
  return (await laterStands(store, context, last)) ?? evaluations.at(-1)!.stands;
}
