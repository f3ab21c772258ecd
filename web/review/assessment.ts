import type { Characteristic, SamplingPlan, Specification } from '../../api/schemas.ts';
import { type Capability, capability } from '../../src/capability/capability.ts';
import { type CapabilityVerdict, capabilityVerdict } from '../../src/capability/capability-verdict.ts';
import { type AndersonDarling, andersonDarling } from '../../src/distribution-fit/anderson-darling.ts';
import type { Outcome } from '../../src/errors.ts';
import { expectedFalseSignals } from '../../src/run-rules/expected-false-signals.ts';
import type { RunRuleName } from '../../src/run-rules/run-rule.ts';
import { estimationMethods } from './estimation-methods.ts';
import { type Study, standingSignals } from './study.ts';

/** A result rarer than this by chance is not taken for chance: in the shape test and in the count of signals. */
export const SIGNIFICANCE = 0.01;
/** From here to SIGNIFICANCE the shape test speaks against a normal shape, though not loudly enough. */
const WEAK_EVIDENCE = 0.1;

/** What the chart says about the period. */
export interface StabilityCount {
  /** Samples whose location was judged by limits. */
  readonly points: number;
  readonly signals: number;
  readonly withdrawn: number;
  /** Of the rules in use, on both charts, with nothing wrong. */
  readonly expectedFalseSignals: number;
  /** Of the location farthest from its center line, in standard deviations of the plotted statistic. */
  readonly farthestDeviation: number;
  /** Signals that belong to a closed alarm with a recorded cause. They count like the others. */
  readonly explained: number;
  readonly byRule: readonly {
    readonly chart: 'location' | 'spread';
    readonly rule: RunRuleName;
    readonly count: number;
  }[];
}

export interface Assessment {
  readonly stability: StabilityCount | null;
  readonly readings: readonly number[];
  readonly shape: Outcome<AndersonDarling>;
  readonly nearNormal: boolean | null;
  /** The shape test gives some evidence against a normal shape, not enough at the level used. */
  readonly weakEvidence: boolean;
  readonly capability: Outcome<Capability>;
  readonly verdict: CapabilityVerdict;
  /** Why the chart of the plan cannot tell stable from not; null: it can. */
  readonly chartCannotJudge: string | null;
  /** What the sampling plan says of the stream. */
  readonly planRemark: string;
}

type PlanSays = Pick<SamplingPlan, 'meanLimitsFrom' | 'raisesAlarms' | 'remark'>;

/** A chart whose signals call nobody, or whose limits allow for what the means do by themselves, judges nothing. */
function whyChartCannotJudge({ meanLimitsFrom, raisesAlarms, remark }: PlanSays): string | null {
  if (raisesAlarms && meanLimitsFrom === 'within-subgroup') return null;
  return (
    remark ||
    'The limits for its means come from the moving range of the means, because the means move with nothing wrong.'
  );
}

function deviationOf({ location: { value, limits } }: Study['points'][number]): number {
  if (value === null || limits === null) return 0;
  return Math.abs(value - limits.centerLine) / limits.standardDeviation;
}

function stabilityOf(study: Study): StabilityCount | null {
  const judged = (chart: 'location' | 'spread'): number =>
    study.points.filter((point) => point[chart].value !== null && point[chart].limits !== null).length;
  const points = judged('location');
  if (points === 0) return null;
  const { locationRules, spreadRules } = study.settings;
  const standing = standingSignals(study);
  const counts = new Map<string, StabilityCount['byRule'][number]>();
  for (const { chart, rule } of standing) {
    const key = `${chart} ${rule}`;
    counts.set(key, { chart, rule, count: (counts.get(key)?.count ?? 0) + 1 });
  }
  return {
    points,
    signals: standing.length,
    withdrawn: study.signals.length - standing.length,
    expectedFalseSignals:
      expectedFalseSignals(points, locationRules) + expectedFalseSignals(judged('spread'), spreadRules),
    farthestDeviation: Math.max(...study.points.map(deviationOf)),
    explained: standing.filter((signal) => signal.explained).length,
    byRule: [...counts.values()],
  };
}

/** What the shape test says, at the level used. */
export function shapeEvidence(shape: Assessment['shape']) {
  return {
    shape,
    nearNormal: shape.available ? shape.pValue >= SIGNIFICANCE : null,
    weakEvidence: shape.available && shape.pValue >= SIGNIFICANCE && shape.pValue < WEAK_EVIDENCE,
  };
}

/** Is it stable, what shape is it, is it good enough: everything below the charts, from the core's functions. */
export function assess(
  study: Study,
  characteristic: Pick<Characteristic, 'lowerNaturalBound' | 'upperNaturalBound'>,
  specification: Specification | null,
  plan: PlanSays,
): Assessment {
  const subgroups = study.points.map((point) => point.readings);
  const readings = subgroups.flat().filter((reading) => reading !== null);
  const shape = andersonDarling(readings);
  const [method] = estimationMethods[study.kind];
  const result: Outcome<Capability> =
    readings.length === 0
      ? { available: false, reason: 'too-few-values', message: 'The period holds no reading.' }
      : capability(
          subgroups,
          {
            lowerSpecificationLimit: specification?.lowerSpecificationLimit ?? null,
            upperSpecificationLimit: specification?.upperSpecificationLimit ?? null,
            target: specification?.nominal ?? null,
            lowerNaturalBound: characteristic.lowerNaturalBound,
            upperNaturalBound: characteristic.upperNaturalBound,
          },
          { method: method.name },
        );
  const stability = stabilityOf(study);
  const chartCannotJudge = whyChartCannotJudge(plan);
  return {
    stability,
    readings,
    ...shapeEvidence(shape),
    capability: result,
    verdict: capabilityVerdict(
      { capability: result, normality: shape, stability, chartCannotJudge },
      { significance: SIGNIFICANCE },
    ),
    chartCannotJudge,
    planRemark: plan.remark,
  };
}
