import { type Outcome, StatisticsError } from '../errors.ts';
import { fireAtSharedLimits } from '../run-rules/fire-at-shared-limits.ts';
import { planRules } from '../run-rules/rule-words.ts';
import type { RunRuleSettings } from '../run-rules/run-rule.ts';
import { rangeMoments } from '../samples/range-moments.ts';
import type { ControlLimits, ProcessStandard } from './control-chart.ts';
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
  if (readings.length === 0) throw new StatisticsError('empty', 'readings', readings);
  if (readings.length % subgroupSize !== 0)
    throw new StatisticsError(
      'sizes-differ',
      'readings',
      readings.length,
      'Its length must be a whole number of subgroups.',
    );

  const count = readings.length / subgroupSize;
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

/**
 * Means and ranges of all subgroups, and what the limits need of them.
 *
 * Largest and smallest are found without a branch, which would be guessed wrong about twice a subgroup:
 * larger = a + (|b − a| + (b − a))/2. Where all readings lie within a factor of two, every difference is exact
 * (Sterbenz' lemma), and so is the result; other subgroups are compared one by one.
 */
function fillMeansAndRanges(
  readings: Float64Array,
  subgroupSize: number,
  means: Float64Array,
  ranges: Float64Array,
  d2: number,
): { readonly distances: number; readonly standardisedRanges: number } {
  let distances = 0;
  let standardisedRanges = 0;
  let first = 0;
  for (let subgroup = 0, start = 0; subgroup < means.length; subgroup++, start += subgroupSize) {
    const origin = readings[start]!;
    let fromOrigin = 0;
    let smallest = origin;
    let largest = origin;
    for (let place = start + 1; place < start + subgroupSize; place++) {
      const reading = readings[place]!;
      fromOrigin += reading - origin;
      const over = reading - largest;
      const under = reading - smallest;
      largest += (over + Math.abs(over)) * 0.5;
      smallest += (under - Math.abs(under)) * 0.5;
    }
    let range = largest - smallest;
    if (!((smallest > 0 && largest < 1.9 * smallest) || (largest < 0 && smallest > 1.9 * largest)))
      range = comparedRange(readings, start, subgroupSize);
    const mean = origin + fromOrigin / subgroupSize;
    if (!(Math.abs(mean) < Infinity && range < Infinity)) refuse(readings, start, subgroupSize);
    if (subgroup === 0) first = mean;
    means[subgroup] = mean;
    ranges[subgroup] = range;
    distances += subgroupSize * (mean - first);
    standardisedRanges += range / d2;
  }
  return { distances, standardisedRanges };
}

function comparedRange(readings: Float64Array, start: number, subgroupSize: number): number {
  let smallest = readings[start]!;
  let largest = smallest;
  for (let place = start + 1; place < start + subgroupSize; place++) {
    const reading = readings[place]!;
    if (reading < smallest) smallest = reading;
    else if (reading > largest) largest = reading;
  }
  return largest - smallest;
}

function refuse(readings: Float64Array, start: number, subgroupSize: number): never {
  for (let place = start; place < start + subgroupSize; place++)
    if (!Number.isFinite(readings[place]))
      throw new StatisticsError('not-finite', `readings.${place}`, readings[place]);
  throw new StatisticsError(
    'out-of-range',
    `readings.${start}`,
    readings[start],
    'The readings lie too far apart.',
  );
}
