import { StatisticsError } from '../errors.ts';
import { rangeMoments } from './range-moments.ts';

/**
 * Moving range at each value: largest minus smallest of it and the `span` − 1 values before it.
 *
 * @param values  individual values in time order, one unit; null for a missing one.
 * @param span    values in one moving range, 2 … 100 (default 2).
 * @returns       as many entries as values, in their unit; null before `span` values exist and wherever one of
 *                them is missing.
 * @throws        StatisticsError `not-finite` (names the value), `not-an-integer`, `out-of-range`.
 *
 * Source: ISO 7870-2, individuals and moving range.
 *
 * @example
 * movingRanges([3, 5, null, 4, 1]);
 * // [null, 2, null, null, 3]
 */
export function movingRanges(values: readonly (number | null)[], span = 2): (number | null)[] {
  // One list of spans for the ranges and for the factors that go with them.
  rangeMoments(span, 'span');
  return values.map((value, index) => {
    if (value !== null && !Number.isFinite(value))
      throw new StatisticsError('not-finite', `values.${index}`, value);
    if (index < span - 1) return null;
    let smallest = Infinity;
    let largest = -Infinity;
    for (let place = index - span + 1; place <= index; place++) {
      const member = values[place];
      if (member === null || member === undefined) return null;
      smallest = Math.min(smallest, member);
      largest = Math.max(largest, member);
    }
    if (!Number.isFinite(largest - smallest))
      throw new StatisticsError('out-of-range', `values.${index}`, value, 'The values lie too far apart.');
    return largest - smallest;
  });
}
