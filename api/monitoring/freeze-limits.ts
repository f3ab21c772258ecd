import type { ProcessStandard } from '../../src/charts/control-chart.ts';
import { estimateStandard } from '../../src/charts/estimate-standard.ts';
import { requirePermission } from '../permissions.ts';
import { unacceptable } from '../problem.ts';
import type { Change, LimitsRequest, PlantModel } from '../schemas.ts';
import type { LimitsRow, StoreTransaction } from '../store/store.ts';
import { judge, newestStands, samplesBefore } from './judge.ts';
import { numbered, settleAlarm, withdrawSignals } from './settle-alarm.ts';
import { personOf, type StreamContext, streamContext } from './stream-context.ts';

/** Fewer subgroups give limits that mislead more than they tell [common practice]. */
const fewestSubgroups = { approved: 20, trial: 5 } as const;
const MOST_BASELINE_SAMPLES = 100_000;
/** Samples judged anew at once. */
const BATCH = 5_000;

/**
 * Freezes a version of the control limits from a moment on. A version never begins before the one it follows, so
 * the limits that judged the past stay. Samples that were taken since that moment are judged anew.
 */
export async function freezeLimits(
  store: StoreTransaction,
  plant: PlantModel,
  request: LimitsRequest,
  personId: string,
  now: number,
): Promise<{ readonly limits: LimitsRow; readonly changes: readonly Change[] }> {
  requirePermission(personOf(plant, personId), 'freeze control limits');
  const context = streamContext(plant, request.streamId, request.modelId);
  if (context.settings === null) {
    throw unacceptable(
      'streamId',
      `${context.stream.name} has no control chart in its sampling plan, so it has no control limits; choose a chart in Setup first.`,
    );
  }
  const effectiveFrom = Date.parse(request.effectiveFrom);
  const last = (await store.limitsVersions(request.streamId, request.modelId)).at(-1);
  if (last !== undefined && effectiveFrom < last.effectiveFrom) {
    throw unacceptable(
      'effectiveFrom',
      `must not be before ${new Date(last.effectiveFrom).toISOString()}, when version ${last.version} begins: the limits of the past stay as they were.`,
    );
  }
  const limits: LimitsRow = {
    streamId: request.streamId,
    modelId: request.modelId,
    version: (last?.version ?? 0) + 1,
    status: request.status,
    ...(await standardOf(store, context, request)),
    effectiveFrom,
    reason: request.reason,
    personId,
    at: now,
  };
  await store.addLimits(limits);
  const changes = await judgeSince(store, context, limits, now);
  return { limits, changes: [{ kind: 'limits', streamId: request.streamId }, ...changes] };
}

type StandardRow = ProcessStandard &
  Pick<LimitsRow, 'method' | 'baselineFrom' | 'baselineTo' | 'subgroupsUsed' | 'readingsUsed'>;

async function standardOf(
  store: StoreTransaction,
  context: StreamContext,
  { source, status }: LimitsRequest,
): Promise<StandardRow> {
  const { stream, modelId, plan, characteristic } = context;
  if (source.kind === 'given') {
    const { lowerNaturalBound: lower, upperNaturalBound: upper } = characteristic;
    if ((lower !== null && source.mean < lower) || (upper !== null && source.mean > upper)) {
      throw unacceptable(
        'source.mean',
        `must lie where ${characteristic.name} can lie, within its natural bounds.`,
      );
    }
    return {
      mean: source.mean,
      withinSubgroupStandardDeviation: source.withinSubgroupStandardDeviation,
      meanStandardDeviation: null,
      method: 'given',
      baselineFrom: null,
      baselineTo: null,
      subgroupsUsed: 0,
      readingsUsed: 0,
    };
  }
  const period = { from: Date.parse(source.from), to: Date.parse(source.to) };
  if (period.from >= period.to) throw unacceptable('source.to', 'must be later than source.from.');
  const individuals = plan?.chart === 'individuals-moving-range';
  if (individuals !== (source.method === 'moving-range')) {
    throw unacceptable(
      'source.method',
      individuals
        ? 'must be moving-range: the chart is of individuals.'
        : 'must be range, standard-deviation or pooled: the chart is of subgroups.',
    );
  }
  const baseline = await store.chartedSamples(stream.id, modelId, period, MOST_BASELINE_SAMPLES + 1);
  if (baseline.length > MOST_BASELINE_SAMPLES) {
    throw unacceptable(
      'source.from',
      `holds more than ${MOST_BASELINE_SAMPLES} samples to ${source.to}; choose a shorter period.`,
    );
  }
  const fewest = fewestSubgroups[status];
  if (baseline.length < fewest) {
    const advice =
      status === 'approved' && baseline.length >= fewestSubgroups.trial
        ? ' Choose a longer period, or freeze trial limits.'
        : ' Choose a longer period.';
    throw unacceptable(
      'source.from',
      `The period holds ${baseline.length} samples; ${status} limits need at least ${fewest}.${advice}`,
    );
  }
  const estimate = estimateStandard(baseline, {
    method: source.method,
    meanLimitsFrom: plan?.meanLimitsFrom ?? 'within-subgroup',
  });
  if (!estimate.available) throw unacceptable('source', estimate.message);
  return {
    ...estimate.standard,
    method: source.method,
    baselineFrom: period.from,
    baselineTo: period.to,
    subgroupsUsed: estimate.subgroupsUsed,
    readingsUsed: estimate.readingsUsed,
  };
}

/** Judges what was taken since the new version began by it, in batches that each look back over their beginning. */
async function judgeSince(
  store: StoreTransaction,
  context: StreamContext,
  limits: LimitsRow,
  now: number,
): Promise<readonly Change[]> {
  const { stream, modelId } = context;
  const because = `Limits version ${limits.version} holds from ${new Date(limits.effectiveFrom).toISOString()}: ${limits.reason}`;
  let place = { takenAt: limits.effectiveFrom, no: -1 };
  const changes = new Map<string, Change>();
  for (;;) {
    const batch = await store.chartedSamplesAfter(stream.id, modelId, place, BATCH);
    if (batch.length === 0) break;
    const before = await samplesBefore(store, context, limits, batch[0]!);
    const series = [...before, ...batch];
    const judgement = await judge(store, context, limits, series, before.length, now);
    await withdrawSignals(store, judgement.withdrawn, because, now);
    const stands = await newestStands(store, context, series, judgement);
    const settled = await settleAlarm(store, context, judgement.added, stands, now);
    for (const signal of await numbered(store, context, judgement.added, settled.alarmId, now)) {
      await store.addSignal(signal);
    }
    for (const change of settled.changes) changes.set(JSON.stringify(change), change);
    place = batch.at(-1)!;
  }
  return [...changes.values()];
}
