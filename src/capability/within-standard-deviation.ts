import { estimateStandard } from '../charts/variables/estimate-standard.ts';
import { subgroupStatistics } from '../samples/subgroup-statistics.ts';
import type { CapabilityOptions } from './capability.ts';

/** Within-subgroup standard deviation of values that follow each other, cut into subgroups of these sizes; 0 for none. */
export function withinStandardDeviation(
  values: Float64Array,
  sizes: readonly number[],
  method: CapabilityOptions['method'],
): number {
  let start = 0;
  const statistics = sizes.map((size) => {
    const subgroup = Array.from(values.subarray(start, start + size));
    start += size;
    return subgroupStatistics(subgroup);
  });
  const estimated = estimateStandard(statistics, { method });
  return estimated.available ? estimated.standard.withinSubgroupStandardDeviation : 0;
}
