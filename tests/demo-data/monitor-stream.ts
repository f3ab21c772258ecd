/** Watches a generated stream as the loader does, straight through the core: same plan, schedule and settings. */
import { streamContext } from '../../api/monitoring/stream-context.ts';
import { type StreamKey, streamId } from '../../demo-data/generator/baselines.ts';
import type { GeneratedSample } from '../../demo-data/generator/generate-stream.ts';
import { LIMITS_METHOD, limitsSchedule, modelsOf } from '../../demo-data/limits-schedule.ts';
import { plantModel } from '../../demo-data/plant.ts';
import type { ProcessStandard } from '../../src/charts/control-chart.ts';
import { estimateStandard } from '../../src/charts/variables/estimate-standard.ts';
import { evaluateSeries, type MonitoringSignal } from '../../src/charts/variables/evaluate-newest.ts';
import { subgroupStatistics } from '../../src/samples/subgroup-statistics.ts';

export interface MonitoredSample {
  readonly index: number;
  /** null: before the first limits. */
  readonly standard: ProcessStandard | null;
  readonly signals: readonly Pick<MonitoringSignal, 'chart' | 'rule' | 'side'>[];
}

/** Gives the standard that the limits come from, instead of estimating it. */
export type GivenStandard = (sample: GeneratedSample) => ProcessStandard;

/** Every taken sample of a stream, judged by the limits in force at its time. Keyed by index. */
export function monitorStream(
  key: StreamKey,
  samples: readonly GeneratedSample[],
  given?: GivenStandard,
): ReadonlyMap<number, MonitoredSample> {
  const result = new Map<number, MonitoredSample>();
  for (const model of modelsOf(key)) {
    const { settings, plan } = streamContext(plantModel, streamId(key), model);
    const series = samples
      .filter((sample) => sample.taken && sample.model === model && sample.readings !== null)
      .map((sample) => ({ sample, statistics: subgroupStatistics(sample.readings!) }));
    for (const { sample } of series)
      result.set(sample.index, { index: sample.index, standard: null, signals: [] });
    if (settings === null || plan === null) continue;
    const schedule = limitsSchedule(key);
    schedule.forEach(({ from, to, effectiveFrom }, version) => {
      const baseline = series.filter(({ sample }) => from <= sample.takenAt && sample.takenAt <= to);
      const ends = schedule[version + 1]?.effectiveFrom ?? Number.POSITIVE_INFINITY;
      const judged = series.filter(({ sample }) => effectiveFrom <= sample.takenAt && sample.takenAt < ends);
      const [firstJudged] = judged;
      if (!firstJudged) return;
      const estimate = estimateStandard(
        baseline.map(({ statistics }) => statistics),
        { method: LIMITS_METHOD, meanLimitsFrom: plan.meanLimitsFrom },
      );
      if (!estimate.available) throw new Error(`${streamId(key)} ${model}: ${estimate.message}`);
      const standard = given?.(firstJudged.sample) ?? estimate.standard;
      evaluateSeries(
        judged.map(({ statistics }) => statistics),
        standard,
        settings,
      ).forEach(({ signals }, place) => {
        const { index } = judged[place]!.sample;
        result.set(index, { index, standard, signals });
      });
    });
  }
  return result;
}
