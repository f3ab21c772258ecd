/** The readings of one sample, in the unit of the characteristic; null marks a missing reading. */
export type Subgroup = readonly (number | null)[];

/** What is kept of a subgroup for its charts. All in the unit of the readings; null where it does not exist. */
export interface SubgroupStatistics {
  /** Readings present. */
  readonly size: number;
  readonly mean: number | null;
  /** Largest minus smallest; null for fewer than two readings. */
  readonly range: number | null;
  /** Sample standard deviation, divisor n − 1; null for fewer than two readings. */
  readonly standardDeviation: number | null;
}
