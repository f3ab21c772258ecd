/** Charts of batches, lanes and acceptance over a million points; variance components that a person waits for. */
import {
  acceptanceColumns,
  acceptancePlan,
  coilVariation,
  groupColumns,
  groupLimits,
  laneRunLength,
  nestedLikelihoodComponents,
  threeWayColumns,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import type { ChartBench, TimedCalculation } from './chart-bench.ts';

const points = 1_000_000;
const size = 3;
const lanes = 2;
const { normal } = randomSource(1);
const readings = Float64Array.from({ length: points * size }, () => 2.3 + 0.02 * normal());
const laneReadings = Float64Array.from({ length: points * lanes * size }, () => 2.3 + 0.02 * normal());
const standard = { mean: 2.3, withinSubgroupStandardDeviation: 0.02, meanStandardDeviation: 0.03 };

const threeWay = { standard, subgroupSize: size };
const threeWayFilled = threeWayColumns(readings, threeWay);
const withDeviations = { ...threeWay, within: 'standard-deviation' } as const;
const group = { standard, laneCount: lanes, subgroupSize: size };
const groupFilled = groupColumns(laneReadings, group);
const found = acceptancePlan(
  { lowerSpecificationLimit: 2.16, upperSpecificationLimit: 2.44 },
  {
    withinSubgroupStandardDeviation: 0.02,
    acceptable: { fractionNonconforming: 0.0001 },
    rejectable: { fractionNonconforming: 0.01 },
    sampleSize: size,
  },
);
if (!found.available) throw new Error(found.message);
const plan = found;
const acceptanceFilled = acceptanceColumns(readings, plan);

/** The plainest loop: mean, largest and smallest of each subgroup. */
function plainMeansAndRanges(values: Float64Array, means: Float64Array, ranges: Float64Array): void {
  for (let index = 0, place = 0; index < means.length; index++) {
    let sum = 0;
    let largest = -Infinity;
    let smallest = Infinity;
    for (let reading = 0; reading < size; reading++, place++) {
      const value = values[place]!;
      sum += value;
      if (value > largest) largest = value;
      if (value < smallest) smallest = value;
    }
    means[index] = sum / size;
    ranges[index] = largest - smallest;
  }
}

const plainMeans = new Float64Array(points);
const plainSpreads = new Float64Array(points);
const plainMoving = new Float64Array(points);
const plainFlags = new Uint8Array(points);
const laneMeans = new Float64Array(points * lanes);
const laneRanges = new Float64Array(points * lanes);

function plainMovement(): void {
  for (let index = 1; index < points; index++) {
    plainMoving[index] = Math.abs(plainMeans[index]! - plainMeans[index - 1]!);
    const mean = plainMeans[index]!;
    plainFlags[index] =
      mean > 2.39 || mean < 2.21 || plainMoving[index]! > 0.11 || plainSpreads[index]! > 0.08 ? 1 : 0;
  }
}

export const benches: readonly ChartBench[] = [
  {
    name: 'three-way chart, ranges, subgroups of 3',
    points,
    input: readings,
    run: () => threeWayColumns(readings, threeWay, threeWayFilled),
    plain: () => {
      plainMeansAndRanges(readings, plainMeans, plainSpreads);
      plainMovement();
    },
  },
  {
    name: 'three-way chart, standard deviations, subgroups of 3',
    points,
    input: readings,
    run: () => threeWayColumns(readings, withDeviations, threeWayFilled),
    plain: () => {
      for (let index = 0, place = 0; index < points; index++, place += size) {
        const mean = (readings[place]! + readings[place + 1]! + readings[place + 2]!) / size;
        let squares = 0;
        for (let reading = place; reading < place + size; reading++)
          squares += (readings[reading]! - mean) ** 2;
        plainMeans[index] = mean;
        plainSpreads[index] = Math.sqrt(squares / (size - 1));
      }
      plainMovement();
    },
  },
  {
    name: 'group chart, 2 lanes of 3',
    points,
    input: laneReadings,
    run: () => groupColumns(laneReadings, group, groupFilled),
    plain: () => {
      plainMeansAndRanges(laneReadings, laneMeans, laneRanges);
      for (let sample = 0; sample < points; sample++) {
        let largest = 0;
        let smallest = 0;
        for (let lane = 1; lane < lanes; lane++) {
          if (laneMeans[sample * lanes + lane]! > laneMeans[sample * lanes + largest]!) largest = lane;
          if (laneMeans[sample * lanes + lane]! < laneMeans[sample * lanes + smallest]!) smallest = lane;
        }
        plainMeans[sample] = laneMeans[sample * lanes + largest]!;
        plainMoving[sample] = laneMeans[sample * lanes + smallest]!;
        plainSpreads[sample] = Math.max(laneRanges[sample * lanes]!, laneRanges[sample * lanes + 1]!);
        plainFlags[sample] = plainMeans[sample]! > 2.34 || plainMoving[sample]! < 2.26 ? 1 : 0;
      }
    },
  },
  {
    name: 'acceptance control chart, subgroups of 3',
    points,
    input: readings,
    run: () => acceptanceColumns(readings, plan, acceptanceFilled),
    plain: () => {
      for (let index = 0, place = 0; index < points; index++, place += size) {
        const mean = (readings[place]! + readings[place + 1]! + readings[place + 2]!) / size;
        plainMeans[index] = mean;
        plainFlags[index] = mean > 2.4 ? 1 : mean < 2.2 ? 2 : 0;
      }
    },
  },
];

/** A month of coils: 60 coils of 12 hours with 3 pieces, some of them missing. */
const month = Array.from({ length: 60 }, () => {
  const coil = 0.02 * normal();
  return Array.from({ length: 12 }, (_, hour) =>
    Array.from({ length: hour % 5 === 0 ? 2 : 3 }, () => 2.3 + coil + 0.01 * normal()),
  );
});

export const timed: readonly TimedCalculation[] = [
  { name: 'restricted likelihood, 60 coils of 12 hours', run: () => nestedLikelihoodComponents(month) },
  { name: 'coil variation, 60 coils of 12 hours', run: () => coilVariation(month) },
  {
    name: 'group limits at a wanted false-alarm probability',
    run: () => groupLimits({ standard, lanes: 6, size: 5, falseAlarmProbability: 0.0027 }),
  },
  { name: 'average run length of lane runs', run: () => laneRunLength(6) },
];
