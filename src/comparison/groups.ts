import { requireFiniteValues } from '../checks.ts';
import { StatisticsError } from '../errors.ts';

/** Two or more lists of at least `least` finite numbers each. */
export function requireGroups(groups: readonly (readonly number[])[], least: number): void {
  if (groups.length < 2)
    throw new StatisticsError('too-few-values', 'groups', groups.length, 'At least two groups are needed.');
  groups.forEach((group, index) => {
    requireFiniteValues(group, `groups.${index}`, least);
  });
}
