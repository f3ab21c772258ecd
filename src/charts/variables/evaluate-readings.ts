import { type Outcome, StatisticsError } from '../../errors.ts';
import { fireAtSharedLimits } from '../../run-rules/fire-at-shared-limits.ts';
import { planRules } from '../../run-rules/rule-words.ts';
import type { RunRuleSettings } from '../../run-rules/run-rule.ts';
import { rangeMoments } from '../../samples/range-moments.ts';
import type { ControlLimits, ProcessStandard } from '../control-chart.ts';
import { countSubgroups } from './count-subgroups.ts';
import { fillMeansAndRanges } from './fill-means-and-ranges.ts';
import { pointLimits } from './point-limits.ts';

/** One entry a subgroup. */
export interface ReadingsColumns {
  readonly means: Float64Array;
  readonly ranges: Float64Array;
  /** Rules that fired at each subgroup, one byte: bit r stands for runRuleNames[r]. */
  readonly locationSignals: Uint8Array;
  readonly spreadSignals: Uint8Array;
}

export interface EvaluateReadingsOptions {
  /** Readings of each subgroup, 2 … 100. */
  readonly subgroupSize: number;
  /** What the limits are drawn from; absent: the readings themselves, by average range. */
  readonly standard?: ProcessStandard;
  readonly locationRules: RunRuleSettings;
  readonly spreadRules: RunRuleSettings;
  readonly lowerNaturalBound?: number | null;
  readonly upperNaturalBound?: number | null;
  /**
   * Columns of an earlier evaluation to write over, one entry a subgroup. Fresh memory costs more than the whole
   * calculation, so pass them when evaluating again and again. Default: new ones.
   */
  readonly columns?: ReadingsColumns;
}

/** Mean and range charts of a long series in columns. */
export interface ReadingsEvaluation extends ReadingsColumns {
  readonly standard: ProcessStandard;
  readonly locationLimits: ControlLimits;
  readonly spreadLimits: ControlLimits;
}

/**
 * Mean and range charts with all run rules over millions of readings: the same means, ranges, limits and signals as
 * subgroupStatistics, estimateStandard (method 'range') and evaluateSeries give, without an object a subgroup.
 *
 * @param readings  subgroup after subgroup in one unit, length a whole multiple of subgroupSize, all finite.
 * @param options   subgroup size, standard, rules, natural bounds.
 * @returns         columns; Unavailable `no-variation` where the limits come from readings without any range.
 * @throws          StatisticsError `empty`, `sizes-differ` (readings, columns), `not-finite` (names the reading),
 *                  `out-of-range`, `not-an-integer`, `unknown-name`, `limits-reversed`.
 *
 * Source: as chartFactors and findSignals.
 *
 * @example
 * const rules = { rules: runRuleNames };
 * evaluateReadings(Float64Array.of(10.1, 10.3, 10.2, 10.0), { subgroupSize: 2, locationRules: rules, spreadRules: rules });
 * // available, means [10.2, 10.1], ranges [0.2, 0.2], locationSignals [0, 0]
 */
export function evaluateReadings(
  readings: Float64Array,
  options: EvaluateReadingsOptions,
): Outcome<ReadingsEvaluation> {
  const { subgroupSize } = options;
  const { d2 } = rangeMoments(subgroupSize, 'options.subgroupSize');
  const locationPlan = planRules(options.locationRules, 'options.locationRules');
  const spreadPlan = planRules(options.spreadRules, 'options.spreadRules');
  const count = countSubgroups(readings, subgroupSize);
  const columns = options.columns ?? newColumns(count);
  const { means, ranges, locationSignals, spreadSignals } = columns;
  for (const [name, column] of Object.entries({ means, ranges, locationSignals, spreadSignals }))
    if (column.length !== count)
      throw new StatisticsError(
        'sizes-differ',
        `options.columns.${name}`,
        column.length,
        `It needs ${count} entries.`,
      );
  const sums = fillMeansAndRanges(readings, subgroupSize, means, ranges, d2);

  let { standard } = options;
  if (standard === undefined) {
    if (sums.standardisedRanges === 0)
      return {
        available: false,
        reason: 'no-variation',
        message: 'The readings show no variation to draw limits from. Check that the gauge resolves it.',
      };
    standard = {
      mean: means[0]! + sums.distances / readings.length,
      withinSubgroupStandardDeviation: sums.standardisedRanges / count,
      meanStandardDeviation: null,
    };
  }
  const { location, spread } = pointLimits('mean-range', standard, subgroupSize, options);
  if (location === null || spread === null)
    throw new StatisticsError('out-of-range', 'options.subgroupSize', subgroupSize);
  fireAtSharedLimits(means, location, locationPlan, locationSignals);
  fireAtSharedLimits(ranges, spread, spreadPlan, spreadSignals);
  return {
    available: true,
    standard,
    locationLimits: location,
    spreadLimits: spread,
    means,
    ranges,
    locationSignals,
    spreadSignals,
  };
}

function newColumns(count: number): ReadingsColumns {
  return {
    means: new Float64Array(count),
    ranges: new Float64Array(count),
    locationSignals: new Uint8Array(count),
    spreadSignals: new Uint8Array(count),
  };
}
