import type { PlannedTimes } from '../../src/sampling-plan/due-samples.ts';
import type { SamplingPlan } from '../schemas.ts';
import type { StoreReads } from '../store/store.ts';

/** The plans that a stream has had, with the moment from which each asked for samples. None: it has no plan. */
export async function plannedTimes(store: StoreReads, streamId: string): Promise<PlannedTimes[]> {
  const changes = await store.plantChanges('plans', streamId);
  return changes.map(({ after, at }) => {
    const { firstSampleAt, intervalMinutes } = after as SamplingPlan;
    return { firstSampleAt, intervalMinutes, since: at };
  });
}

/** Records may be older than the plan, where they were imported: its first times hold for all of them. */
export const backToTheFirstRecord = (plans: readonly PlannedTimes[]): PlannedTimes[] =>
  plans.map((plan, index) => (index === 0 ? { ...plan, since: null } : plan));

/** The longest time between two planned samples, in milliseconds. */
export const longestInterval = (plans: readonly PlannedTimes[]): number =>
  Math.max(0, ...plans.map(({ intervalMinutes }) => intervalMinutes)) * 60_000;
