import { StatisticsError } from '../../errors.ts';

/**
 * Means and ranges of all subgroups, and what the limits need of them.
 *
 * Largest and smallest are found without a branch, which would be guessed wrong about twice a subgroup:
 * larger = a + (|b − a| + (b − a))/2. Where all readings lie within a factor of two, every difference is exact
 * (Sterbenz' lemma), and so is the result; other subgroups are compared one by one.
 */
export function fillMeansAndRanges(
  readings: Float64Array,
  subgroupSize: number,
  means: Float64Array,
  ranges: Float64Array,
  d2: number,
): { readonly distances: number; readonly standardisedRanges: number } {
  let distances = 0;
  let standardisedRanges = 0;
  let first = 0;
  for (let subgroup = 0, start = 0; subgroup < means.length; subgroup++, start += subgroupSize) {
    const origin = readings[start]!;
    let fromOrigin = 0;
    let smallest = origin;
    let largest = origin;
    for (let place = start + 1; place < start + subgroupSize; place++) {
      const reading = readings[place]!;
      fromOrigin += reading - origin;
      const over = reading - largest;
      const under = reading - smallest;
      largest += (over + Math.abs(over)) * 0.5;
      smallest += (under - Math.abs(under)) * 0.5;
    }
    let range = largest - smallest;
    if (!((smallest > 0 && largest < 1.9 * smallest) || (largest < 0 && smallest > 1.9 * largest)))
      range = comparedRange(readings, start, subgroupSize);
    const mean = origin + fromOrigin / subgroupSize;
    if (!(Math.abs(mean) < Infinity && range < Infinity)) refuseReadings(readings, start, subgroupSize);
    if (subgroup === 0) first = mean;
    means[subgroup] = mean;
    ranges[subgroup] = range;
    distances += subgroupSize * (mean - first);
    standardisedRanges += range / d2;
  }
  return { distances, standardisedRanges };
}

function comparedRange(readings: Float64Array, start: number, subgroupSize: number): number {
  let smallest = readings[start]!;
  let largest = smallest;
  for (let place = start + 1; place < start + subgroupSize; place++) {
    const reading = readings[place]!;
    if (reading < smallest) smallest = reading;
    else if (reading > largest) largest = reading;
  }
  return largest - smallest;
}

/** Names the reading that is not finite, or says that they lie too far apart. */
export function refuseReadings(readings: Float64Array, start: number, subgroupSize: number): never {
  for (let place = start; place < start + subgroupSize; place++)
    if (!Number.isFinite(readings[place]))
      throw new StatisticsError('not-finite', `readings.${place}`, readings[place]);
  throw new StatisticsError(
    'out-of-range',
    `readings.${start}`,
    readings[start],
    'The readings lie too far apart.',
  );
}
