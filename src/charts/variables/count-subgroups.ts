import { StatisticsError } from '../../errors.ts';

/** How many whole subgroups a column of readings holds. */
export function countSubgroups(readings: Float64Array, subgroupSize: number): number {
  if (readings.length === 0) throw new StatisticsError('empty', 'readings', readings);
  if (readings.length % subgroupSize !== 0)
    throw new StatisticsError(
      'sizes-differ',
      'readings',
      readings.length,
      `Its length must be a whole multiple of ${subgroupSize}.`,
    );
  return readings.length / subgroupSize;
}
