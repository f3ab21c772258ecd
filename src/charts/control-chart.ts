import type { SubgroupStatistics } from '../samples/subgroup.ts';

/** Which pair of charts watches a stream: one for location, one for spread. */
export type ChartKind = 'mean-range' | 'mean-standard-deviation' | 'individuals-moving-range';

/** Control limits of one plotted point: what the process does by itself. Never a specification. */
export interface ControlLimits {
  readonly centerLine: number;
  /** null where the limit lies below the natural bound and so does not exist. */
  readonly lowerControlLimit: number | null;
  readonly upperControlLimit: number | null;
  /** Standard deviation of the plotted statistic, for the zones that run rules use. */
  readonly standardDeviation: number;
}

/** One plotted point of any chart. */
export interface ChartPoint {
  /** 0-based place in the series that was given. */
  readonly index: number;
  /** Plotted statistic; null where the subgroup has none. */
  readonly value: number | null;
  /** Readings behind the point. */
  readonly size: number;
  readonly limits: ControlLimits | null;
  /** Strictly outside the control limits. */
  readonly beyondLimits: boolean;
}

/** The one result shape of every control chart. */
export interface ControlChart {
  readonly statistic: 'mean' | 'range' | 'standard deviation' | 'individual value' | 'moving range';
  readonly points: readonly ChartPoint[];
}

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
  readonly location: ControlChart;
  readonly spread: ControlChart;
}
