/** Charts of several characteristics over 10⁶ observations. */
import {
  type MultivariateStandard,
  mewmaAverageRunLength,
  mewmaColumns,
  mewmaLimit,
  tSquaredColumns,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import type { ChartBench, TimedCalculation } from './chart-bench.ts';

const points = 1_000_000;
const smoothing = 0.1;
const values = new Float64Array(points);
const columns = { values, beyondLimits: new Uint8Array(points) };

/** Equal correlations of 0.5 and standard deviation 2, and observations to go with them. */
function process(p: number) {
  const source = randomSource(p);
  const data = new Float64Array(points * p);
  for (let row = 0; row < points; row++) {
    const shared = source.normal();
    for (let j = 0; j < p; j++) data[row * p + j] = 10 + Math.SQRT2 * (shared + source.normal());
  }
  const standard: MultivariateStandard = {
    mean: new Array<number>(p).fill(10),
    covariance: Array.from({ length: p }, (_, i) => Array.from({ length: p }, (_, j) => (i === j ? 4 : 2))),
    samplesUsed: null,
    subgroupSize: 1,
    method: 'given',
  };
  return { data, standard, inverse: inverseOf(p) };
}

/** Of 2I + 2J: (I − J/(1 + p))/2. */
function inverseOf(p: number): number[][] {
  return Array.from({ length: p }, (_, i) =>
    Array.from({ length: p }, (_, j) => ((i === j ? 1 : 0) - 1 / (1 + p)) / 2),
  );
}

/** d′S⁻¹d as the formula stands. */
function form(inverse: readonly (readonly number[])[], deviations: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < deviations.length; i++)
    for (let j = 0; j < deviations.length; j++) sum += deviations[i]! * inverse[i]![j]! * deviations[j]!;
  return sum;
}

function tSquaredBench(p: number): ChartBench {
  const { data, standard, inverse } = process(p);
  return {
    name: `T² of individuals, ${p} characteristics`,
    points,
    input: data,
    run: () => {
      tSquaredColumns(data, { standard }, columns);
    },
    plain: () => {
      const deviations = new Float64Array(p);
      for (let row = 0; row < points; row++) {
        for (let j = 0; j < p; j++) deviations[j] = data[row * p + j]! - standard.mean[j]!;
        const value = form(inverse, deviations);
        values[row] = value;
        columns.beyondLimits[row] = value > 26 ? 1 : 0;
      }
    },
  };
}

function mewmaBench(p: number): ChartBench {
  const { data, standard, inverse } = process(p);
  return {
    name: `multivariate EWMA, ${p} characteristics`,
    points,
    input: data,
    run: () => {
      mewmaColumns(data, { standard, smoothing, upperControlLimit: 22 }, columns);
    },
    plain: () => {
      const average = new Float64Array(p);
      for (let row = 0; row < points; row++) {
        for (let j = 0; j < p; j++)
          average[j] = smoothing * (data[row * p + j]! - standard.mean[j]!) + (1 - smoothing) * average[j]!;
        const share = (smoothing / (2 - smoothing)) * (1 - (1 - smoothing) ** (2 * (row + 1)));
        const value = form(inverse, average) / share;
        values[row] = value;
        columns.beyondLimits[row] = value > 22 ? 1 : 0;
      }
    },
  };
}

export const benches: readonly ChartBench[] = [tSquaredBench(3), tSquaredBench(10), mewmaBench(10)];

const design = { characteristics: 4, smoothing: 0.1 };
export const timed: readonly TimedCalculation[] = [
  { name: 'run length of a multivariate EWMA chart', run: () => mewmaAverageRunLength(design, 12.7) },
  { name: 'limit of a multivariate EWMA chart', run: () => mewmaLimit({ ...design, averageRunLength: 370 }) },
];
