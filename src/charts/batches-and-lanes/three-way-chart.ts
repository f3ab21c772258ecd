import { requireFinite, requireName, requirePositive, requireWhole } from '../../checks.ts';
import { type Outcome, StatisticsError } from '../../errors.ts';
import type { Subgroup, SubgroupStatistics } from '../../samples/subgroup.ts';
import { subgroupStatistics } from '../../samples/subgroup-statistics.ts';
import { chartPoint, signalsOf } from '../chart-point.ts';
import type { ChartPoint, ControlChart, ControlLimits, ProcessStandard } from '../control-chart.ts';
import { statisticsOfSubgroups } from '../variables/chart-pair.ts';
import { type EstimateStandardOptions, estimateStandard } from '../variables/estimate-standard.ts';
import { pointLimits } from '../variables/point-limits.ts';

interface ThreeWayLimitOptions {
  /** What the chart inside the subgroups shows. Default 'range'. */
  readonly within?: 'range' | 'standard-deviation';
  /** Standard deviations between center line and limit, > 0. Default 3. */
  readonly multiple?: number;
  /** Values below or above these cannot occur; null or absent where there is no such bound. */
  readonly lowerNaturalBound?: number | null;
  readonly upperNaturalBound?: number | null;
}

export interface ThreeWayChartOptions extends ThreeWayLimitOptions {
  /** A given standard, whose meanStandardDeviation must be there. Absent: estimated from the series itself. */
  readonly standard?: ProcessStandard;
  /** Estimate of the within-subgroup standard deviation, as in estimateStandard. Default: as `within`. */
  readonly method?: Exclude<EstimateStandardOptions['method'], 'moving-range'>;
}

/** What one point needs to be judged. */
export interface ThreeWaySettings extends ThreeWayLimitOptions {
  readonly standard: ProcessStandard;
}

/** Variation of single readings, taken apart; in the square of their unit. */
export interface BatchComponents {
  /** Inside the subgroups. */
  readonly within: number;
  /** Between the batches: variance of the means less the part that `within` explains; 0 where that is negative. */
  readonly between: number;
  /** As computed, may be negative. */
  readonly rawBetween: number;
  readonly betweenPercent: number;
}

export interface ThreeWayBasis {
  readonly standard: ProcessStandard;
  readonly method: EstimateStandardOptions['method'] | 'given';
  /** Subgroups and readings that the standard was estimated from; 0 for a given standard. */
  readonly subgroupsUsed: number;
  readonly readingsUsed: number;
  /** null where a given standard meets no subgroup with a reading. */
  readonly components: BatchComponents | null;
}

type Three<Entry> = { readonly mean: Entry; readonly movingRange: Entry; readonly within: Entry };

/** Three charts of one series: level of the batches, movement from batch to batch, spread inside a batch. */
export interface ThreeWayChart extends Three<ControlChart<ControlLimits>> {
  readonly basis: ThreeWayBasis;
  readonly statistics: readonly SubgroupStatistics[];
  /** 0-based places of the points outside their limits, for each chart. */
  readonly signals: Three<readonly number[]>;
}

/** All that the next point needs of history. */
export interface ThreeWayState {
  /** Place of the next subgroup. */
  readonly index: number;
  /** Mean of the subgroup before it; null where there is none. */
  readonly previousMean: number | null;
}

export type ThreeWayPoints = Three<ChartPoint<ControlLimits>>;

/**
 * Three-way chart for material that comes in batches (coils, heats): the level moves from batch to batch with nothing
 * wrong, so limits for means from the spread inside a batch would call most batches a signal. The means are treated as
 * individuals instead, with limits from their moving range; a third chart watches the spread inside.
 *
 * @param subgroups  one a batch (or a sample) in time order, one unit; sizes 0 … 100 may differ, null marks a missing
 *                   reading. A subgroup without a reading leaves no moving range to itself or to the next.
 * @param options    given standard, or how to estimate it; range or standard deviation inside; multiple; natural bounds.
 * @returns          the three charts, in the unit of the readings, and the variance between and within batches:
 *                   between = (average moving range of means / d2(2))² − within · average of 1/n. Unavailable as
 *                   estimateStandard.
 * @throws           StatisticsError `empty`, `not-finite` (names the reading), `out-of-range`, `unknown-name`,
 *                   `limits-reversed`.
 *
 * Source: Wheeler, Understanding Statistical Process Control, three-way charts for batches (cited from memory); limits as
 * ISO 7870-2; the chart for batches is common practice.
 *
 * @example
 * threeWayChart([[10.1, 10.3], [11.2, 11.0], [10.4, 10.4], [9.9, 9.8]]);
 * // available, mean.points[0].limits.upperControlLimit 12.29…, basis.components.betweenPercent 97.00…, signals.mean []
 */
export function threeWayChart(
  subgroups: readonly Subgroup[],
  options: ThreeWayChartOptions = {},
): Outcome<ThreeWayChart> {
  const { within = 'range', method = within } = options;
  requireName(within, ['range', 'standard-deviation'], 'options.within');
  const statistics = statisticsOfSubgroups(subgroups, 'subgroups');
  const estimated =
    options.standard === undefined
      ? estimateStandard(statistics, { method, meanLimitsFrom: 'moving-range-of-means' })
      : ({ available: true, standard: options.standard, subgroupsUsed: 0, readingsUsed: 0 } as const);
  if (!estimated.available) return estimated;
  const { standard, subgroupsUsed, readingsUsed } = estimated;
  requireStandard(standard, 'options.standard');

  const bySize = new Map<number, Three<ControlLimits | null>>();
  const points: ThreeWayPoints[] = [];
  let state: ThreeWayState = { index: 0, previousMean: null };
  for (const one of statistics) {
    const limits = bySize.get(one.size) ?? threeWayLimits(standard, one.size, options);
    bySize.set(one.size, limits);
    const next = advance(state, one, limits, within);
    points.push(next.points);
    state = next.state;
  }
  const mean = points.map((point) => point.mean);
  const movingRange = points.map((point) => point.movingRange);
  const inside = points.map((point) => point.within);
  return {
    available: true,
    basis: {
      standard,
      method: options.standard === undefined ? method : 'given',
      subgroupsUsed,
      readingsUsed,
      components: batchComponents(standard, statistics),
    },
    statistics,
    mean: { statistic: 'mean', points: mean },
    movingRange: { statistic: 'moving range', points: movingRange },
    within: { statistic: within === 'range' ? 'range' : 'standard deviation', points: inside },
    signals: { mean: signalsOf(mean), movingRange: signalsOf(movingRange), within: signalsOf(inside) },
  };
}

/**
 * State of a live three-way chart before its first subgroup.
 *
 * @returns a small plain object for threeWayNext, ready to be stored.
 *
 * Source: as threeWayChart.
 *
 * @example
 * threeWayStart();
 * // index 0, previousMean null
 */
export function threeWayStart(): ThreeWayState {
  return { index: 0, previousMean: null };
}

/**
 * The next points of a live three-way chart; the cost does not grow with history.
 *
 * @param state     what threeWayStart or the last threeWayNext returned.
 * @param subgroup  readings of the new subgroup, null for a missing one; may be empty.
 * @param settings  the standard (meanStandardDeviation must be there) and how the limits are drawn.
 * @returns         the points of the three charts, in the unit of the readings, and the next state.
 * @throws          StatisticsError as threeWayChart; `not-finite`, `out-of-range` for a state that no chart can be in.
 *
 * Source: as threeWayChart.
 *
 * @example
 * const standard = { mean: 10.4, withinSubgroupStandardDeviation: 0.12, meanStandardDeviation: 0.6 };
 * threeWayNext(threeWayStart(), [12.3, 12.5], { standard });
 * // points.mean.value 12.4, points.mean.beyondLimits true, points.movingRange.value null, state.index 1
 */
export function threeWayNext(
  state: ThreeWayState,
  subgroup: Subgroup,
  settings: ThreeWaySettings,
): { readonly state: ThreeWayState; readonly points: ThreeWayPoints } {
  const { standard, within = 'range' } = settings;
  requireName(within, ['range', 'standard-deviation'], 'settings.within');
  requireStandard(standard, 'settings.standard');
  requireWhole(state.index, 0, Number.MAX_SAFE_INTEGER - 1, 'state.index');
  if (state.previousMean !== null) requireFinite(state.previousMean, 'state.previousMean');
  const statistics = subgroupStatistics(subgroup);
  return advance(state, statistics, threeWayLimits(standard, statistics.size, settings), within);
}

/** Limits of the three charts for a subgroup of this size. */
export function threeWayLimits(
  standard: ProcessStandard,
  size: number,
  options: ThreeWayLimitOptions,
): Three<ControlLimits | null> {
  const { within = 'range', multiple = 3 } = options;
  const kind = within === 'range' ? 'mean-range' : 'mean-standard-deviation';
  const { location, spread } = pointLimits(kind, standard, size, options);
  const ofMeans = {
    mean: standard.mean,
    withinSubgroupStandardDeviation: standard.meanStandardDeviation!,
    meanStandardDeviation: null,
  };
  return {
    mean: location,
    movingRange: pointLimits('individuals-moving-range', ofMeans, 1, { multiple }).spread,
    within: spread,
  };
}

/** A standard whose three limits have a width. */
export function requireStandard(standard: ProcessStandard, argument: string): void {
  requireFinite(standard.mean, `${argument}.mean`);
  requirePositive(standard.withinSubgroupStandardDeviation, `${argument}.withinSubgroupStandardDeviation`);
  if (standard.meanStandardDeviation === null)
    throw new StatisticsError(
      'out-of-range',
      `${argument}.meanStandardDeviation`,
      null,
      'A three-way chart draws its limits for means from their own standard deviation: give it, or no standard.',
    );
  requirePositive(standard.meanStandardDeviation, `${argument}.meanStandardDeviation`);
}

function advance(
  { index, previousMean }: ThreeWayState,
  { size, mean, range, standardDeviation }: SubgroupStatistics,
  limits: Three<ControlLimits | null>,
  within: 'range' | 'standard-deviation',
): { readonly state: ThreeWayState; readonly points: ThreeWayPoints } {
  const moved = mean === null || previousMean === null ? null : Math.abs(mean - previousMean);
  if (moved === Infinity)
    throw new StatisticsError(
      'out-of-range',
      'state.previousMean',
      previousMean,
      'The means lie too far apart.',
    );
  return {
    state: { index: index + 1, previousMean: mean },
    points: {
      mean: chartPoint(index, mean, size, limits.mean),
      movingRange: chartPoint(index, moved, moved === null ? 0 : 2, limits.movingRange),
      within: chartPoint(index, within === 'range' ? range : standardDeviation, size, limits.within),
    },
  };
}

function batchComponents(
  standard: ProcessStandard,
  statistics: readonly SubgroupStatistics[],
): BatchComponents | null {
  let subgroups = 0;
  let reciprocals = 0;
  for (const { size } of statistics) {
    if (size === 0) continue;
    subgroups++;
    reciprocals += 1 / size;
  }
  if (subgroups === 0) return null;
  const within = standard.withinSubgroupStandardDeviation ** 2;
  const rawBetween = standard.meanStandardDeviation! ** 2 - (within * reciprocals) / subgroups;
  const between = Math.max(0, rawBetween);
  if (!(within + between < Infinity) || within + between === 0)
    throw new StatisticsError(
      'out-of-range',
      'subgroups',
      within,
      'The variances cannot be computed in this unit. Choose another one.',
    );
  return { within, between, rawBetween, betweenPercent: (100 * between) / (within + between) };
}
