/** Charts of counts over 10⁶ samples. */
import {
  binomialCusumColumns,
  cColumns,
  countCusumRunLength,
  gColumns,
  npColumns,
  pColumns,
  poissonCusumColumns,
  pPrimeColumns,
  tColumns,
  tPowerColumns,
  uColumns,
  uPrimeColumns,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import type { ChartBench, TimedCalculation } from './chart-bench.ts';

const points = 1_000_000;
const source = randomSource(1);

/** Counts in the first half, sizes in the second, so that the memory pass reads both. */
const input = new Float64Array(2 * points);
const counts = input.subarray(0, points);
const sizes = input.subarray(points);
for (let index = 0; index < points; index++) {
  sizes[index] = 200 + Math.floor(200 * source.uniform());
  counts[index] = Math.max(0, Math.round(9 + 3 * source.normal()));
}
const times = Float64Array.from(counts, () => -100 * Math.log(source.uniform()));

const standard = 0.03;
const zStandardDeviation = 1.2;
const columns = {
  values: new Float64Array(points),
  lowerControlLimits: new Float64Array(points),
  upperControlLimits: new Float64Array(points),
  beyondLimits: new Uint8Array(points),
};

/** Value, limits and flag of each sample, written down as the formulas stand. */
function plainLimits(deviation: (size: number) => number, perUnit: boolean): () => void {
  return () => {
    for (let index = 0; index < points; index++) {
      const size = sizes[index]!;
      const value = perUnit ? counts[index]! / size : counts[index]!;
      const centerLine = perUnit ? standard : standard * size;
      const lower = Math.max(0, centerLine - 3 * deviation(size));
      const upper = Math.min(perUnit ? 1 : size, centerLine + 3 * deviation(size));
      columns.values[index] = value;
      columns.lowerControlLimits[index] = lower;
      columns.upperControlLimits[index] = upper;
      columns.beyondLimits[index] = value > upper ? 1 : value < lower ? 2 : 0;
    }
  };
}

function plainFlags(values: Float64Array, lower: number, upper: number): () => void {
  return () => {
    for (let index = 0; index < points; index++)
      columns.beyondLimits[index] = values[index]! > upper ? 1 : values[index]! < lower ? 2 : 0;
  };
}

function plainSum(perEvent: number, perUnit: number): () => void {
  return () => {
    let sum = 0;
    for (let index = 0; index < points; index++) {
      sum = Math.max(0, sum + perEvent * counts[index]! + perUnit * sizes[index]!);
      columns.values[index] = sum;
      columns.beyondLimits[index] = sum > 4 ? 1 : 0;
    }
  };
}

const binomial = (size: number) => Math.sqrt((standard * (1 - standard)) / size);
const poisson = (size: number) => Math.sqrt(standard / size);
const exact = { standard, falseAlarmProbability: 0.00135 };
const prime = { standard, zStandardDeviation };
const cusum = { inControl: 0.03, outOfControl: 0.05, decisionInterval: 4 };
const both = (name: string, run: () => void, plain: () => void): ChartBench => ({
  name,
  points,
  input,
  run,
  plain,
});
const one = (name: string, values: Float64Array, run: () => void, plain: () => void): ChartBench => ({
  name,
  points,
  input: values,
  run,
  plain,
});

export const benches: readonly ChartBench[] = [
  both('p, varying size', () => pColumns(counts, sizes, { standard }, columns), plainLimits(binomial, true)),
  both(
    'p, exact limits, 200 sizes',
    () => pColumns(counts, sizes, exact, columns),
    plainLimits(binomial, true),
  ),
  both(
    'np, varying size',
    () => npColumns(counts, sizes, { standard }, columns),
    plainLimits((size) => Math.sqrt(standard * (1 - standard) * size), false),
  ),
  both('u, varying size', () => uColumns(counts, sizes, { standard }, columns), plainLimits(poisson, true)),
  both(
    'p′, varying size',
    () => pPrimeColumns(counts, sizes, prime, columns),
    plainLimits((size) => zStandardDeviation * binomial(size), true),
  ),
  both(
    'u′, varying size',
    () => uPrimeColumns(counts, sizes, prime, columns),
    plainLimits((size) => zStandardDeviation * poisson(size), true),
  ),
  one('c', counts, () => cColumns(counts, { standard: 9 }, columns), plainFlags(counts, 0, 18)),
  one('g, exact limits', counts, () => gColumns(counts, { standard: 9 }, columns), plainFlags(counts, 0, 62)),
  one(
    't, exact limits',
    times,
    () => tColumns(times, { standard: 100 }, columns),
    plainFlags(times, 0.135, 661),
  ),
  one(
    't by power transformation',
    times,
    () => tPowerColumns(times, { standard: { mean: 3.3, standardDeviation: 1 } }, columns),
    plainFlags(times, 0.01, 870),
  ),
  both(
    'binomial CUSUM',
    () => binomialCusumColumns(counts, sizes, cusum, columns),
    plainSum(Math.log((0.05 * 0.97) / (0.03 * 0.95)), Math.log(0.95 / 0.97)),
  ),
  both(
    'Poisson CUSUM',
    () => poissonCusumColumns(counts, sizes, cusum, columns),
    plainSum(Math.log(5 / 3), -0.02),
  ),
];

export const timed: readonly TimedCalculation[] = [
  {
    name: 'run length of a CUSUM of counts, 51 states',
    run: () =>
      countCusumRunLength({
        distribution: 'binomial',
        size: 310,
        level: 0.003,
        referenceValue: { numerator: 18, denominator: 10 },
        decisionInterval: 5,
      }),
  },
  {
    name: 'run length of a CUSUM of counts, 301 states',
    run: () =>
      countCusumRunLength({
        distribution: 'poisson',
        size: 1,
        level: 2,
        referenceValue: { numerator: 29, denominator: 10 },
        decisionInterval: 30,
      }),
  },
];
