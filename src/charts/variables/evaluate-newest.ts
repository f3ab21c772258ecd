import { StatisticsError } from '../../errors.ts';
import { findSignalsAtLimits } from '../../run-rules/find-signals-at-limits.ts';
import { planRules, type RulePlan } from '../../run-rules/rule-words.ts';
import type { RunRuleName, RunRuleSettings, RunRuleSignal } from '../../run-rules/run-rule.ts';
import type { SubgroupStatistics } from '../../samples/subgroup.ts';
import type { ChartKind, ControlLimits, ProcessStandard } from '../control-chart.ts';
import { type PointLimits, pointLimits } from './point-limits.ts';

/** How a stream is watched. */
export interface MonitoringSettings {
  readonly kind: ChartKind;
  readonly locationRules: RunRuleSettings;
  readonly spreadRules: RunRuleSettings;
  /** Values below or above these cannot occur; null where there is no such bound. */
  readonly lowerNaturalBound: number | null;
  readonly upperNaturalBound: number | null;
}

/** A run rule that fired on one of the two charts. */
export interface MonitoringSignal {
  readonly chart: 'location' | 'spread';
  readonly rule: RunRuleName;
  /** 0-based places in the series that was given, oldest first. */
  readonly points: readonly number[];
  readonly side: 'above' | 'below' | 'both';
}

/** One subgroup, judged. Values and limits in the unit of the characteristic. */
export interface PointEvaluation {
  readonly location: { readonly value: number | null; readonly limits: ControlLimits | null };
  readonly spread: { readonly value: number | null; readonly limits: ControlLimits | null };
  readonly signals: readonly MonitoringSignal[];
}

/**
 * Subgroups that evaluateNewest looks back on for these settings, the newest included: 1 … 16.
 *
 * @throws StatisticsError `unknown-name`, `out-of-range`.
 *
 * Source: the longest pattern among the rules chosen, as in findSignals.
 *
 * @example
 * windowLength({ kind: 'mean-range', locationRules: { rules: ['run-on-one-side'], oneSideRunLength: 8 },
 *   spreadRules: { rules: [] }, lowerNaturalBound: null, upperNaturalBound: null });
 * // 8
 */
export function windowLength(settings: MonitoringSettings): number {
  return lengthOfWindow(
    settings.kind,
    planRules(settings.locationRules, 'settings.locationRules'),
    planRules(settings.spreadRules, 'settings.spreadRules'),
  );
}

function lengthOfWindow(kind: ChartKind, location: RulePlan, spread: RulePlan): number {
  // A moving range needs the value before the first one that a rule looks at.
  return Math.max(location.lookBack, spread.lookBack + (kind === 'individuals-moving-range' ? 1 : 0));
}

/**
 * The newest subgroup against its control limits and the run rules. Gives exactly what evaluateSeries gives for the
 * last subgroup of a series, from the last `windowLength(settings)` subgroups alone.
 *
 * @param window    subgroups in time order, the newest last, all under the same limits; a longer window changes
 *                  nothing.
 * @param standard  what the limits are drawn from, in the unit of the subgroups.
 * @param settings  kind of charts, rules for each, natural bounds.
 * @returns         the two plotted values with their limits, and the signals that the newest subgroup completes,
 *                  location first; `points` are indices into `window`.
 * @throws          StatisticsError `empty` (window), and those of pointLimits and windowLength.
 *
 * Source: ISO 7870-2. Limits are at three standard deviations.
 *
 * @example
 * evaluateNewest([subgroupStatistics([10.9, 11.1])],
 *   { mean: 10, withinSubgroupStandardDeviation: 0.2, meanStandardDeviation: null },
 *   { kind: 'mean-range', locationRules: { rules: ['one-beyond-three-sigma'] }, spreadRules: { rules: [] },
 *     lowerNaturalBound: null, upperNaturalBound: null });
 * // location.value 11, signals[0].rule 'one-beyond-three-sigma'
 */
export function evaluateNewest(
  window: readonly SubgroupStatistics[],
  standard: ProcessStandard,
  settings: MonitoringSettings,
): PointEvaluation {
  if (window.length === 0)
    throw new StatisticsError('empty', 'window', window, 'It needs the newest subgroup.');
  const location = planRules(settings.locationRules, 'settings.locationRules');
  const spread = planRules(settings.spreadRules, 'settings.spreadRules');
  const from = Math.max(0, window.length - lengthOfWindow(settings.kind, location, spread));
  const plotted = plotPoints(window, from, standard, settings);
  const newest = window.length - 1;
  const signals: MonitoringSignal[] = [];
  addSignals(
    signals,
    'location',
    findSignalsAtLimits(plotted.means, plotted.meanLimits, location, newest - from),
    from,
  );
  addSignals(
    signals,
    'spread',
    findSignalsAtLimits(plotted.spreads, plotted.spreadLimits, spread, newest - from),
    from,
  );
  return evaluationAt(plotted, newest - from, signals);
}

/**
 * Every subgroup of a series as evaluateNewest would have judged it at its time.
 *
 * @param series  subgroups in time order, all under the same limits; may be empty.
 * @returns       one evaluation a subgroup; `points` of its signals are indices into `series`.
 * @throws        as evaluateNewest.
 *
 * Source: as evaluateNewest.
 *
 * @example
 * evaluateSeries([[10.1, 9.9], [10.9, 11.1]].map(subgroupStatistics),
 *   { mean: 10, withinSubgroupStandardDeviation: 0.2, meanStandardDeviation: null },
 *   { kind: 'mean-range', locationRules: { rules: ['one-beyond-three-sigma'] }, spreadRules: { rules: [] },
 *     lowerNaturalBound: null, upperNaturalBound: null });
 * // [0].signals [], [1].location.value 11, [1].signals[0].rule 'one-beyond-three-sigma'
 */
export function evaluateSeries(
  series: readonly SubgroupStatistics[],
  standard: ProcessStandard,
  settings: MonitoringSettings,
): PointEvaluation[] {
  const location = planRules(settings.locationRules, 'settings.locationRules');
  const spread = planRules(settings.spreadRules, 'settings.spreadRules');
  const plotted = plotPoints(series, 0, standard, settings);
  const signals: MonitoringSignal[][] = series.map(() => []);
  for (const signal of findSignalsAtLimits(plotted.means, plotted.meanLimits, location, 0))
    addSignals(signals[signal.index]!, 'location', [signal], 0);
  for (const signal of findSignalsAtLimits(plotted.spreads, plotted.spreadLimits, spread, 0))
    addSignals(signals[signal.index]!, 'spread', [signal], 0);
  return series.map((_, index) => evaluationAt(plotted, index, signals[index]!));
}

function addSignals(
  to: MonitoringSignal[],
  chart: 'location' | 'spread',
  found: readonly RunRuleSignal[],
  offset: number,
): void {
  for (const { rule, points, side } of found)
    to.push({ chart, rule, points: offset === 0 ? points : points.map((point) => point + offset), side });
}

interface PlottedPoints {
  readonly means: (number | null)[];
  readonly spreads: (number | null)[];
  readonly meanLimits: (ControlLimits | null)[];
  readonly spreadLimits: (ControlLimits | null)[];
}

function evaluationAt(
  plotted: PlottedPoints,
  index: number,
  signals: readonly MonitoringSignal[],
): PointEvaluation {
  return {
    location: { value: plotted.means[index]!, limits: plotted.meanLimits[index]! },
    spread: { value: plotted.spreads[index]!, limits: plotted.spreadLimits[index]! },
    signals,
  };
}

function plotPoints(
  series: readonly SubgroupStatistics[],
  from: number,
  standard: ProcessStandard,
  settings: MonitoringSettings,
): PlottedPoints {
  const means: (number | null)[] = [];
  const spreads: (number | null)[] = [];
  const meanLimits: (ControlLimits | null)[] = [];
  const spreadLimits: (ControlLimits | null)[] = [];
  // Subgroups mostly have one size, so limits are computed once and shared.
  const bySize: (PointLimits | undefined)[] = [];
  for (let index = from; index < series.length; index++) {
    const statistics = series[index]!;
    const { size } = statistics;
    let limits = bySize[size];
    if (limits === undefined) {
      limits = pointLimits(settings.kind, standard, size, settings);
      bySize[size] = limits;
    }
    means.push(requireFinite(statistics.mean, index));
    spreads.push(requireFinite(spreadOf(settings.kind, series, index, from), index));
    meanLimits.push(limits.location);
    spreadLimits.push(limits.spread);
  }
  return { means, spreads, meanLimits, spreadLimits };
}

function requireFinite(value: number | null, index: number): number | null {
  if (value !== null && !Number.isFinite(value))
    throw new StatisticsError('not-finite', `window.${index}`, value);
  return value;
}

function spreadOf(
  kind: ChartKind,
  series: readonly SubgroupStatistics[],
  index: number,
  from: number,
): number | null {
  if (kind === 'mean-range') return series[index]!.range;
  if (kind === 'mean-standard-deviation') return series[index]!.standardDeviation;
  if (index === from) return null;
  const value = series[index]!.mean;
  const before = series[index - 1]!.mean;
  return value === null || before === null ? null : Math.abs(value - before);
}
