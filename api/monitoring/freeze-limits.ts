import type { ProcessStandard } from '../../src/charts/control-chart.ts';
import { estimateStandard } from '../../src/charts/variables/estimate-standard.ts';
import { evaluateSeries, type MonitoringSettings } from '../../src/charts/variables/evaluate-newest.ts';
import { plantTime } from '../plant-time.ts';
import { unacceptable } from '../problem.ts';
import type { Change, LimitsRequest, PlantModel } from '../schemas.ts';
import { requireSecondSignature } from '../second-signatures.ts';
import { limitsInForceAt } from '../store/limits-in-force.ts';
import type { ChartedSample, LimitsRow, StoreTransaction } from '../store/store.ts';
import type { By } from './by.ts';
import { judge, newestStands, samplesBefore } from './judge.ts';
import { numbered, settleAlarm, withdrawSignals } from './settle-alarm.ts';
import { requirePerson, type StreamContext, streamContext } from './stream-context.ts';

/** Fewer subgroups give limits that mislead more than they tell [common practice]. */
const fewestSubgroups = { approved: 20, trial: 5 } as const;
const MOST_BASELINE_SAMPLES = 100_000;
/** Samples judged anew at once. */
const BATCH = 5_000;
const MINUTE = 60_000;
/** Limits planned further ahead than this are a wrong year more often than a plan. */
const DAYS_AHEAD = 7;

/**
 * Freezes a version of the control limits from a moment on. It never begins before the version in force now, so the
 * limits that judged the past stay; one that has not begun yet may be overtaken. Samples that were taken since that
 * moment are judged anew.
 */
export async function freezeLimits(
  store: StoreTransaction,
  plant: PlantModel,
  request: LimitsRequest,
  by: By,
  now: number,
): Promise<{ readonly limits: LimitsRow; readonly changes: readonly Change[] }> {
  requirePerson(plant, by.personId);
  requireSecondSignature(plant.people, by, 'new control limits');
  const context = streamContext(plant, request.streamId, request.modelId);
  if (context.settings === null) {
    throw unacceptable(
      'streamId',
      `${context.stream.name} has no control chart in its sampling plan, so it has no control limits; choose a chart in Setup first.`,
    );
  }
  const effectiveFrom = Date.parse(request.effectiveFrom);
  const versions = await store.limitsVersions(request.streamId, request.modelId);
  const { utcOffsetMinutes } = plant.plant;
  checkBeginning(effectiveFrom, limitsInForceAt(versions, now), now, utcOffsetMinutes);
  const { row, baseline } = await standardOf(store, context, request);
  const signalsExplained = request.signalsExplained ?? false;
  if (request.status === 'approved' && !signalsExplained) {
    const standing = await signalsOfBaseline(store, context, context.settings, row, baseline);
    if (standing > 0) throw unexplained(standing);
  }
  const limits: LimitsRow = {
    streamId: request.streamId,
    modelId: request.modelId,
    version: (versions.at(-1)?.version ?? 0) + 1,
    status: request.status,
    ...row,
    effectiveFrom,
    reason: request.reason,
    signalsExplained,
    personId: by.personId,
    secondPersonId: by.secondPersonId ?? null,
    at: now,
  };
  await store.addLimits(limits);
  const because = `Limits version ${limits.version} holds from ${plantTime(effectiveFrom, utcOffsetMinutes)} (plant time): ${limits.reason}`;
  const changes = await judgeSince(store, context, limits, because, now);
  return { limits, changes: [{ kind: 'limits', streamId: request.streamId }, ...changes] };
}

function checkBeginning(
  effectiveFrom: number,
  inForce: LimitsRow | null,
  now: number,
  utcOffsetMinutes: number,
): void {
  const latest = now + DAYS_AHEAD * 24 * 60 * MINUTE;
  if (effectiveFrom > latest) {
    throw unacceptable(
      'effectiveFrom',
      `must be ${plantTime(latest, utcOffsetMinutes)} (plant time) or earlier, at most ${DAYS_AHEAD} days ahead; look at the year.`,
    );
  }
  if (inForce !== null && effectiveFrom < inForce.effectiveFrom) {
    // The next whole minute: the time that is named must be one that is accepted.
    const earliest = Math.ceil(inForce.effectiveFrom / MINUTE) * MINUTE;
    throw unacceptable(
      'effectiveFrom',
      `must be ${plantTime(earliest, utcOffsetMinutes)} (plant time) or later: version ${inForce.version} holds since then, and the limits of the past stay as they were.`,
    );
  }
}

/**
 * Signals on samples of the baseline: those of the record that stand, and those that the new limits themselves would
 * raise on it. The same signal counts once.
 */
async function signalsOfBaseline(
  store: StoreTransaction,
  { stream, modelId }: StreamContext,
  settings: MonitoringSettings,
  standard: ProcessStandard,
  baseline: readonly ChartedSample[],
): Promise<number> {
  const [first] = baseline;
  if (first === undefined) return 0;
  const period = { from: first.takenAt, to: baseline.at(-1)!.takenAt };
  const recorded = await store.signals(stream.id, modelId, period);
  const found = new Set(
    recorded
      .filter(({ withdrawnAt }) => withdrawnAt === null)
      .map(({ sampleNo, chart, rule }) => `${sampleNo} ${chart} ${rule}`),
  );
  evaluateSeries(baseline, standard, settings).forEach(({ signals }, index) => {
    for (const { chart, rule } of signals) found.add(`${baseline[index]!.no} ${chart} ${rule}`);
  });
  return found.size;
}

const unexplained = (count: number) =>
  unacceptable(
    'signalsExplained',
    `The baseline holds ${count === 1 ? '1 signal' : `${count} signals`}: limits from a disturbed period hide the disturbance. Choose a period without them, or look into each, say in the reason what it was, and confirm that (signalsExplained true); or freeze trial limits.`,
  );

type StandardRow = ProcessStandard &
  Pick<LimitsRow, 'method' | 'baselineFrom' | 'baselineTo' | 'subgroupsUsed' | 'readingsUsed'>;

async function standardOf(
  store: StoreTransaction,
  context: StreamContext,
  { source, status }: LimitsRequest,
): Promise<{ readonly row: StandardRow; readonly baseline: readonly ChartedSample[] }> {
  const { stream, modelId, plan, characteristic } = context;
  if (source.kind === 'given') {
    const { lowerNaturalBound: lower, upperNaturalBound: upper } = characteristic;
    if ((lower !== null && source.mean < lower) || (upper !== null && source.mean > upper)) {
      throw unacceptable(
        'source.mean',
        `must lie where ${characteristic.name} can lie, within its natural bounds.`,
      );
    }
    const row: StandardRow = {
      mean: source.mean,
      withinSubgroupStandardDeviation: source.withinSubgroupStandardDeviation,
      meanStandardDeviation: null,
      method: 'given',
      baselineFrom: null,
      baselineTo: null,
      subgroupsUsed: 0,
      readingsUsed: 0,
    };
    return { row, baseline: [] };
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
  const row: StandardRow = {
    ...estimate.standard,
    method: source.method,
    baselineFrom: period.from,
    baselineTo: period.to,
    subgroupsUsed: estimate.subgroupsUsed,
    readingsUsed: estimate.readingsUsed,
  };
  return { row, baseline };
}

/** Judges what was taken since the new version began by it, in batches that each look back over their beginning. */
async function judgeSince(
  store: StoreTransaction,
  context: StreamContext,
  limits: LimitsRow,
  because: string,
  now: number,
): Promise<readonly Change[]> {
  const { stream, modelId } = context;
  let place = { takenAt: limits.effectiveFrom, no: -1 };
  const changes = new Map<string, Change>();
  for (;;) {
    const batch = await store.chartedSamplesAfter(stream.id, modelId, place, BATCH);
    if (batch.length === 0) break;
    const before = await samplesBefore(store, context, limits, batch[0]!);
    const series = [...before, ...batch];
    const judgement = await judge(store, context, limits, series, before.length, now);
    await withdrawSignals(store, judgement.withdrawn, { by: 'limits', because }, now);
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
