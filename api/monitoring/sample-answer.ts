import type { ControlLimits } from '../../src/charts/control-chart.ts';
import { type Count, compareCount } from '../../src/decision/compare-count.ts';
import { sampleVerdict } from '../../src/decision/sample-verdict.ts';
import type { Question, SampleAnswer, Signal, Verdict } from '../schemas.ts';
import type { LimitsInForce, MeasuredValues } from '../store/store.ts';
import type { Evaluation } from './judge.ts';
import { surelyOutside } from './measured-values.ts';
import { outsideSentence } from './outside-sentence.ts';
import { isoTime } from './payloads.ts';
import type { StreamContext } from './stream-context.ts';

interface AnswerParts {
  readonly context: StreamContext;
  readonly limits: LimitsInForce | null;
  readonly sampleId: string;
  readonly revision: number;
  readonly storedAt: number;
  readonly values: MeasuredValues;
  /** Counts of the stream before this one; empty for readings. */
  readonly recentCounts: readonly Count[];
  /** null: not judged, for want of a chart or of limits. */
  readonly evaluation: Evaluation | null;
  readonly signals: readonly Signal[];
  readonly alarmId: number | null;
}

/** What the person who sent the sample sees. */
export function sampleAnswer(parts: AnswerParts): SampleAnswer {
  const { values, evaluation, context } = parts;
  return {
    sampleId: parts.sampleId,
    revision: parts.revision,
    storedAt: isoTime(parts.storedAt),
    verdict: verdictOf(parts),
    location: charted(evaluation?.location, values.mean),
    spread: charted(evaluation?.spread, spreadOf(values, context)),
    outsideSpecification: values.outsideSpecification as number[],
    questions: values.questions as Question[],
    signals: parts.signals as Signal[],
    alarmId: parts.alarmId,
  };
}

function charted(
  point: Evaluation['location'] | undefined,
  unjudged: number | null,
): SampleAnswer['location'] {
  return point === undefined
    ? { value: unjudged, limits: null }
    : { value: point.value, limits: wire(point.limits) };
}

const wire = (limits: ControlLimits | null): SampleAnswer['location']['limits'] => limits;

/** The spread that the plan's chart draws; moving ranges need a neighbour, so alone a value has none. */
function spreadOf(values: MeasuredValues, { plan }: StreamContext): number | null {
  if (plan?.chart === 'mean-standard-deviation') return values.standardDeviation;
  return plan?.chart === 'individuals-moving-range' ? null : values.range;
}

type VerdictParts = Pick<AnswerParts, 'context' | 'limits' | 'values' | 'recentCounts' | 'signals'>;

/** Why the product itself calls, whatever the control chart says; null where it does not. */
export function productCalls(parts: Omit<VerdictParts, 'signals'>): string | null {
  const { values, context } = parts;
  if (values.count !== null) {
    const { level, sentence } = verdictOf({ ...parts, signals: [] });
    return level === 'call' ? sentence : null;
  }
  const outside = surelyOutside(values);
  return outside.length === 0 ? null : outsideSentence(values, outside, context);
}

function verdictOf({ context, limits, values, signals, recentCounts }: VerdictParts): Verdict {
  const { plan, settings } = context;
  const { count } = values;
  const { level, judged, sentence } = sampleVerdict({
    questions: values.questions,
    signals,
    outsideSpecification: values.outsideSpecification,
    charted: settings !== null,
    hasLimits: limits !== null,
    raisesAlarms: plan?.raisesAlarms ?? false,
    remark: plan?.remark ?? '',
    count: count === null ? null : { ...count, comparison: compareCount(count, recentCounts) },
  });
  const calls = plan !== null && (level === 'call' || (count?.nonconforming ?? 0) > 0);
  return {
    level,
    judged,
    sentence,
    steps: calls ? plan.reactionPlan.steps : [],
    cautions: calls ? plan.reactionPlan.cautions : [],
  };
}
