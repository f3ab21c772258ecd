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
const SIGNIFICANCE = 0.01;

/** What the chart says about the period. */
export interface StabilityCount {
  /** Samples whose location was judged by limits. */
  readonly points: number;
  readonly signals: number;
  readonly withdrawn: number;
  readonly expectedFalseSignals: number;
  /** Of the location farthest from its center line, in standard deviations of the plotted statistic. */
  readonly farthestDeviation: number;
  /** Rules in use other than the one about the control limits: what they add by chance is not in the expected number. */
  readonly furtherRules: boolean;
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
  readonly capability: Outcome<Capability>;
  readonly verdict: CapabilityVerdict;
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
  const beyond: RunRuleName = 'one-beyond-three-sigma';
  const watched =
    (locationRules.rules.includes(beyond) ? points : 0) +
    (spreadRules.rules.includes(beyond) ? judged('spread') : 0);
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
    expectedFalseSignals: expectedFalseSignals(watched),
    farthestDeviation: Math.max(...study.points.map(deviationOf)),
    furtherRules: [...locationRules.rules, ...spreadRules.rules].some((rule) => rule !== beyond),
    byRule: [...counts.values()],
  };
}

/** Is it stable, what shape is it, is it good enough: everything below the charts, from the core's functions. */
export function assess(
  study: Study,
  characteristic: Pick<Characteristic, 'lowerNaturalBound' | 'upperNaturalBound'>,
  specification: Specification | null,
  plan: Pick<SamplingPlan, 'meanLimitsFrom'>,
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
  return {
    stability,
    readings,
    shape,
    nearNormal: shape.available ? shape.pValue >= SIGNIFICANCE : null,
    capability: result,
    verdict: capabilityVerdict(
      { capability: result, normality: shape, stability },
      {
        significance: SIGNIFICANCE,
        // Where the means move with nothing wrong, Cpk would leave that movement out.
        index: plan.meanLimitsFrom === 'moving-range-of-means' ? 'ppk' : 'cpk',
      },
    ),
  };
}
