import type {
  LimitsVersion,
  PlantEvent,
  Review,
  Sample,
  SampleGap,
  SamplingPlan,
  Signal,
} from '../../api/schemas.ts';
import type { ChartKind, ControlLimits, ProcessStandard } from '../../src/charts/control-chart.ts';
import { estimateStandard } from '../../src/charts/variables/estimate-standard.ts';
import { evaluateSeries, type MonitoringSettings } from '../../src/charts/variables/evaluate-newest.ts';
import type { Subgroup, SubgroupStatistics } from '../../src/samples/subgroup.ts';
import { subgroupStatistics } from '../../src/samples/subgroup-statistics.ts';
import { estimationMethods } from './estimation-methods.ts';
import { ruleSignalSentence } from './rule-signal-sentence.ts';

/** A signal of the period, with the number that leads from the point to the list. */
export interface NumberedSignal {
  readonly number: number;
  readonly chart: Signal['chart'];
  readonly rule: Signal['rule'];
  readonly sentence: string;
  readonly withdrawn: boolean;
  /** It belongs to a closed alarm with a recorded cause. */
  readonly explained: boolean;
  /** Point that completes the pattern, and all points it stands on, as indices into the period. */
  readonly index: number;
  readonly points: readonly number[];
}

interface PlottedValue {
  readonly value: number | null;
  readonly limits: ControlLimits | null;
  readonly beyond: boolean;
}

interface StudyPoint {
  readonly sample: Sample;
  readonly time: number;
  readonly readings: Subgroup;
  readonly statistics: SubgroupStatistics;
  readonly location: PlottedValue;
  readonly spread: PlottedValue;
}

/** Everything that Review knows about a period of a stream with a chart. */
export interface Study {
  readonly kind: ChartKind;
  readonly settings: MonitoringSettings;
  readonly points: readonly StudyPoint[];
  readonly signals: readonly NumberedSignal[];
  /**
   * 'frozen': versions that somebody froze. 'period': none yet, so the period is judged by limits computed
   * from itself. 'none': too little data even for that.
   */
  readonly limitsFrom: 'frozen' | 'period' | 'none';
  readonly versions: readonly LimitsVersion[];
  readonly versionStarts: readonly { readonly index: number; readonly version: number | null }[];
  readonly events: readonly PlantEvent[];
  readonly gaps: readonly SampleGap[];
}

export interface NaturalBounds {
  readonly lowerNaturalBound: number | null;
  readonly upperNaturalBound: number | null;
}

function monitoringSettings(
  plan: Pick<SamplingPlan, 'locationRules' | 'spreadRules'>,
  kind: ChartKind,
  bounds: NaturalBounds,
): MonitoringSettings {
  return {
    kind,
    locationRules: { rules: plan.locationRules },
    spreadRules: { rules: plan.spreadRules },
    lowerNaturalBound: bounds.lowerNaturalBound,
    upperNaturalBound: bounds.upperNaturalBound,
  };
}

/** Strictly outside the control limits. */
const isBeyond = (value: number | null, limits: ControlLimits | null): boolean =>
  value !== null &&
  limits !== null &&
  ((limits.lowerControlLimit !== null && value < limits.lowerControlLimit) ||
    (limits.upperControlLimit !== null && value > limits.upperControlLimit));

export const standardOf = (version: LimitsVersion): ProcessStandard => ({
  mean: version.mean,
  withinSubgroupStandardDeviation: version.withinSubgroupStandardDeviation,
  meanStandardDeviation: version.meanStandardDeviation,
});

/** Neighbouring samples that were judged by the same version of the limits. */
function segmentsByVersion(samples: readonly Sample[]) {
  const segments: { version: number | null; start: number; end: number }[] = [];
  samples.forEach((sample, index) => {
    const current = segments.at(-1);
    if (current !== undefined && current.version === sample.limitsVersion) current.end = index + 1;
    else segments.push({ version: sample.limitsVersion, start: index, end: index + 1 });
  });
  return segments;
}

/** Puts a period's samples, limits, signals and events together, point by point. */
export function studyOf(
  review: Review,
  plan: Pick<SamplingPlan, 'locationRules' | 'spreadRules' | 'meanLimitsFrom'>,
  kind: ChartKind,
  bounds: NaturalBounds,
): Study {
  const samples = review.samples
    .filter((sample) => sample.readings !== null)
    .sort((a, b) => Date.parse(a.takenAt) - Date.parse(b.takenAt));
  const readings = samples.map((sample) => (sample.readings ?? []).map((reading) => reading.value));
  const statistics = readings.map(subgroupStatistics);
  const settings = monitoringSettings(plan, kind, bounds);
  const versions = new Map(review.limits.map((version) => [version.version, version]));
  const segments = segmentsByVersion(samples);
  const anyFrozen = segments.some(({ version }) => version !== null);
  const [method] = estimationMethods[kind];
  const points: StudyPoint[] = [];
  const ownSignals: NumberedSignal[] = [];
  let limitsFrom: Study['limitsFrom'] = anyFrozen ? 'frozen' : 'none';

  for (const { version, start, end } of segments) {
    const part = statistics.slice(start, end);
    const frozen = version === null ? undefined : versions.get(version);
    let standard = frozen && standardOf(frozen);
    if (standard === undefined) {
      const estimate = estimateStandard(part, { method: method.name, meanLimitsFrom: plan.meanLimitsFrom });
      if (estimate.available) standard = estimate.standard;
      if (estimate.available && !anyFrozen) limitsFrom = 'period';
    }
    const evaluated = standard && evaluateSeries(part, standard, settings);
    const judged = frozen !== undefined || !anyFrozen;
    for (let place = 0; place < part.length; place++) {
      const result = evaluated?.[place];
      const index = start + place;
      const plotted = (chart: 'location' | 'spread'): PlottedValue => {
        const value = result?.[chart].value ?? null;
        const limits = judged ? (result?.[chart].limits ?? null) : null;
        return { value, limits, beyond: isBeyond(value, limits) };
      };
      points.push({
        sample: samples[index]!,
        time: Date.parse(samples[index]!.takenAt),
        readings: readings[index]!,
        statistics: part[place]!,
        location: plotted('location'),
        spread: plotted('spread'),
      });
      if (limitsFrom !== 'period') continue;
      for (const signal of result?.signals ?? []) {
        ownSignals.push({
          number: ownSignals.length + 1,
          chart: signal.chart,
          rule: signal.rule,
          sentence: ruleSignalSentence(kind, signal),
          withdrawn: false,
          explained: false,
          index,
          points: signal.points.map((point) => start + point),
        });
      }
    }
  }

  return {
    kind,
    settings,
    points,
    signals: limitsFrom === 'period' ? ownSignals : recordedSignals(review, samples),
    limitsFrom,
    versions: review.limits,
    versionStarts: segments.slice(1).map(({ start, version }) => ({ index: start, version })),
    events: [...review.events].sort((a, b) => Date.parse(a.at) - Date.parse(b.at)),
    gaps: review.gaps,
  };
}

/** The signals of the record, in the order of the points that completed them. */
function recordedSignals(
  { signals, explainedSignals }: Pick<Review, 'signals' | 'explainedSignals'>,
  samples: readonly Sample[],
): NumberedSignal[] {
  const explained = new Set(explainedSignals);
  const indexOf = new Map(samples.map((sample, index) => [sample.id, index]));
  return signals
    .flatMap((signal) => {
      const index = indexOf.get(signal.sampleId);
      if (index === undefined) return [];
      const points = signal.points.flatMap((id) => indexOf.get(id) ?? []);
      return [{ ...signal, index, points }];
    })
    .sort((a, b) => a.index - b.index || a.id - b.id)
    .map(({ id, chart, rule, sentence, withdrawn, index, points }, place) => ({
      number: place + 1,
      chart,
      rule,
      sentence,
      withdrawn,
      explained: explained.has(id),
      index,
      points,
    }));
}

/** Signals that no correction has withdrawn. */
export const standingSignals = (study: Study): NumberedSignal[] =>
  study.signals.filter((signal) => !signal.withdrawn);

/** What happened between the sample before and the sample after a point. */
export function eventsNear(study: Study, index: number): PlantEvent[] {
  const after = study.points[index - 1]?.time ?? Number.NEGATIVE_INFINITY;
  const until = study.points[index + 1]?.time ?? Number.POSITIVE_INFINITY;
  return study.events.filter((event) => {
    const at = Date.parse(event.at);
    return at > after && at <= until;
  });
}
