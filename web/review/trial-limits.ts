import type { LimitsVersion, SamplingPlan } from '../../api/schemas.ts';
import type { ControlLimits, ProcessStandard } from '../../src/charts/control-chart.ts';
import { estimateStandard } from '../../src/charts/variables/estimate-standard.ts';
import { evaluateSeries } from '../../src/charts/variables/evaluate-newest.ts';
import { pointLimits } from '../../src/charts/variables/point-limits.ts';
import type { estimationMethods } from './estimation-methods.ts';
import { ruleSignalSentence } from './rule-signal-sentence.ts';
import { type Study, standardOf, standingSignals } from './study.ts';

export type BaselineMethod = (typeof estimationMethods)['mean-range'][number]['name'];

/** A standard with the limits that it gives for a sample of the usual size. */
interface LimitsOfStandard {
  readonly standard: ProcessStandard;
  readonly location: ControlLimits | null;
  readonly spread: ControlLimits | null;
}

/** A signal that one set of limits raises and the other does not. */
export interface ChangedSignal {
  readonly index: number;
  readonly sentence: string;
}

export interface TrialLimits extends LimitsOfStandard {
  readonly subgroupsUsed: number;
  readonly readingsUsed: number;
  readonly sampleSize: number;
  /** The newest frozen version, where there is one. */
  readonly old: (LimitsOfStandard & { readonly version: LimitsVersion }) | null;
  /** Signals of the record that the new limits would not have raised in this period. */
  readonly silenced: readonly ChangedSignal[];
  /** Signals that the new limits raise in the period that they come from. */
  readonly raised: readonly ChangedSignal[];
  /** Of those, the ones that the record does not have. */
  readonly added: readonly ChangedSignal[];
  /** What the baseline holds, by the record or by its own limits; each has to be explained before approval. */
  readonly toExplain: readonly ChangedSignal[];
}

export type TrialOutcome =
  | { readonly available: true; readonly trial: TrialLimits }
  | { readonly available: false; readonly message: string };

/** Limits from the period of a study, held against the newest frozen ones, and what would have been different. */
export function trialLimits(
  study: Study,
  method: BaselineMethod,
  plan: Pick<SamplingPlan, 'meanLimitsFrom' | 'sampleSize'>,
): TrialOutcome {
  if (study.points.length === 0) return { available: false, message: 'The period holds no sample.' };
  const statistics = study.points.map((point) => point.statistics);
  const estimate = estimateStandard(statistics, { method, meanLimitsFrom: plan.meanLimitsFrom });
  if (!estimate.available) return { available: false, message: estimate.message };

  const limitsOf = (standard: ProcessStandard): LimitsOfStandard => ({
    standard,
    ...pointLimits(study.kind, standard, plan.sampleSize, study.settings),
  });
  const recorded = study.limitsFrom === 'frozen' ? standingSignals(study) : [];
  const raised = evaluateSeries(statistics, estimate.standard, study.settings).flatMap((result, index) =>
    result.signals.map((signal) => ({
      key: `${index} ${signal.chart} ${signal.rule}`,
      index,
      sentence: ruleSignalSentence(study.kind, signal),
    })),
  );
  const raisedKeys = new Set(raised.map((signal) => signal.key));
  const keyOf = (signal: { index: number; chart: string; rule: string }): string =>
    `${signal.index} ${signal.chart} ${signal.rule}`;
  const recordedKeys = new Set(recorded.map(keyOf));
  const added = raised.filter((signal) => !recordedKeys.has(signal.key));
  const newest = study.versions.reduce<LimitsVersion | null>(
    (latest, version) => (latest === null || version.version > latest.version ? version : latest),
    null,
  );
  return {
    available: true,
    trial: {
      ...limitsOf(estimate.standard),
      subgroupsUsed: estimate.subgroupsUsed,
      readingsUsed: estimate.readingsUsed,
      sampleSize: plan.sampleSize,
      old: newest === null ? null : { version: newest, ...limitsOf(standardOf(newest)) },
      silenced: recorded.filter((signal) => !raisedKeys.has(keyOf(signal))),
      raised,
      added,
      toExplain: [...recorded, ...added].sort((a, b) => a.index - b.index),
    },
  };
}
