import { StatisticsError } from '../errors.ts';
import type { Subgroup, SubgroupStatistics } from './subgroup.ts';

/**
 * Mean, range and sample standard deviation of the readings that are present in one subgroup.
 *
 * The mean is summed as distances from the first reading, and the squares are taken about the mean in a second
 * pass: readings far from zero lose no digits, and a subgroup of equal readings has exactly their value as mean.
 *
 * @param subgroup  readings in the unit of the characteristic, null for a missing one; may be empty.
 * @returns         size (readings present), mean (null without readings), range and standard deviation (null for
 *                  fewer than two readings), in the unit of the readings.
 * @throws          StatisticsError `not-finite` (names the reading), `out-of-range` where the readings are so large
 *                  that their squares overflow.
 *
 * Source: ISO 7870-2, control charts for variables; two-pass formula after Chan, Golub and LeVeque, The American
 * Statistician 37(3), 1983.
 *
 * @example
 * subgroupStatistics([12.1, null, 12.3]);
 * // size 2, mean 12.2, range 0.2, standardDeviation 0.1414…
 */
export function subgroupStatistics(subgroup: Subgroup): SubgroupStatistics {
  return statisticsOf(subgroup, 'subgroup');
}

/** The same for readings that the caller knows by another name, which an error then gives. */
export function statisticsOf(subgroup: Subgroup, argument: string): SubgroupStatistics {
  let size = 0;
  let origin = 0;
  let distances = 0;
  let smallest = 0;
  let largest = 0;
  for (let position = 0; position < subgroup.length; position++) {
    const reading = subgroup[position];
    if (reading === null) continue;
    if (!Number.isFinite(reading))
      throw new StatisticsError('not-finite', `${argument}.${position}`, reading);
    const value = reading as number;
    if (size === 0) {
      origin = value;
      smallest = value;
      largest = value;
    } else {
      distances += value - origin;
      if (value < smallest) smallest = value;
      else if (value > largest) largest = value;
    }
    size++;
  }
  if (size === 0) return { size, mean: null, range: null, standardDeviation: null };
  if (size === 1) return { size, mean: origin, range: null, standardDeviation: null };

  const mean = origin + distances / size;
  let squares = 0;
  let remainder = 0;
  for (let position = 0; position < subgroup.length; position++) {
    const reading = subgroup[position];
    if (reading === null) continue;
    const deviation = (reading as number) - mean;
    squares += deviation * deviation;
    remainder += deviation;
  }
  const variance = Math.max(0, squares - (remainder * remainder) / size) / (size - 1);
  if (!Number.isFinite(variance) || !Number.isFinite(largest - smallest))
    throw new StatisticsError(
      'out-of-range',
      argument,
      largest,
      'The readings lie too far apart to compute with.',
    );
  return { size, mean, range: largest - smallest, standardDeviation: Math.sqrt(variance) };
}
