import type { SubgroupStatistics } from '../samples/subgroup.ts';

/** Which pair of charts watches a stream: one for location, one for spread. */
export type ChartKind = 'mean-range' | 'mean-standard-deviation' | 'individuals-moving-range';

/** The lines that one plotted point is held against: what the process does by itself. Never a specification. */
export interface LimitLines {
  readonly centerLine: number;
  /** null where the limit lies below the natural bound and so does not exist. */
  readonly lowerControlLimit: number | null;
  readonly upperControlLimit: number | null;
}

/** Lines of a statistic whose standard deviation is known, so that run rules have zones to work with. */
export interface ControlLimits extends LimitLines {
  /** Standard deviation of the plotted statistic, for the zones that run rules use. */
  readonly standardDeviation: number;
}

/** One plotted point of any chart. */
export interface ChartPoint<Limits extends LimitLines = LimitLines> {
  /** 0-based place in the series that was given. */
  readonly index: number;
  /** Plotted statistic; null where the subgroup has none. */
  readonly value: number | null;
  /** Readings, inspected parts or units of area behind the point. */
  readonly size: number;
  readonly limits: Limits | null;
  /** Strictly outside the control limits. */
  readonly beyondLimits: boolean;
}

/** The one result shape of every control chart. */
export interface ControlChart<Limits extends LimitLines = LimitLines> {
  readonly statistic: ChartStatistic;
  readonly points: readonly ChartPoint<Limits>[];
}

/** What a chart of its own (one that is not half of a pair) returns: the chart, and what its limits rest on. */
export interface ChartResult<Basis, Limits extends LimitLines = LimitLines> extends ControlChart<Limits> {
  /** What the center line and the limits were computed from. */
  readonly basis: Basis;
  /** 0-based places of the points strictly outside their limits, ascending. */
  readonly signals: readonly number[];
}

/** What a chart plots. */
export type ChartStatistic = VariablesStatistic | CountStatistic | WeightedStatistic | DerivedStatistic;

/** Statistics of measured values, which run rules and their sentences know. */
export type VariablesStatistic =
  | 'mean'
  | 'range'
  | 'standard deviation'
  | 'individual value'
  | 'moving range';

type CountStatistic =
  | 'proportion nonconforming'
  | 'number nonconforming'
  | 'number of nonconformities'
  | 'nonconformities per unit'
  | 'parts between events'
  | 'time between events';

type WeightedStatistic =
  | 'exponentially weighted moving average'
  | 'upper cumulative sum'
  | 'lower cumulative sum'
  | 'moving average'
  | 'log-likelihood cumulative sum';

type DerivedStatistic =
  | 'deviation from nominal'
  | 'standardised mean'
  | 'standardised range'
  | 'standardised value'
  | 'Q statistic'
  | 'largest lane mean'
  | 'smallest lane mean'
  | 'largest lane range'
  | 'residual'
  | 'median'
  | 'T squared'
  | 'multivariate exponentially weighted moving average';

/** How the within-subgroup standard deviation was estimated. */
export type StandardDeviationMethod =
  | 'range'
  | 'standard-deviation'
  | 'range-minimum-variance'
  | 'standard-deviation-minimum-variance'
  | 'pooled'
  | 'pooled-unbiased'
  | 'moving-range'
  | 'given';

/**
 * The standard that limits are drawn from: either estimated from a baseline or given.
 * All in the unit of the characteristic.
 */
export interface ProcessStandard {
  readonly mean: number;
  readonly withinSubgroupStandardDeviation: number;
  /**
   * Standard deviation of the subgroup means themselves, where they move more than the readings inside a
   * subgroup explain (coil to coil, for one). null: within-subgroup standard deviation / √n.
   */
  readonly meanStandardDeviation: number | null;
}

/** A pair of charts over a series of subgroups. */
export interface ChartPair {
  readonly kind: ChartKind;
  readonly standard: ProcessStandard;
  readonly method: StandardDeviationMethod;
  /** Subgroups and readings that the standard was estimated from; 0 for a given standard. */
  readonly subgroupsUsed: number;
  readonly readingsUsed: number;
  readonly statistics: readonly SubgroupStatistics[];
  readonly location: ControlChart<ControlLimits>;
  readonly spread: ControlChart<ControlLimits>;
}
