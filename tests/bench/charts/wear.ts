/** The tool-wear chart over a million points; a fit and its forecast that a person waits for. */
import { toolWearChart, toolWearColumns, wearCrossing } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import type { ChartBench, TimedCalculation } from './chart-bench.ts';

const points = 1_000_000;
const perCycle = 1000;
const { normal } = randomSource(2);
const hits = Float64Array.from({ length: points }, (_, index) => 100 * (index % perCycle));
const cycles = Uint32Array.from({ length: points }, (_, index) => Math.floor(index / perCycle));
const values = Float64Array.from(hits, (hit) => 2.5 + 5e-6 * hit + 0.01 * normal());
const settings = {
  slope: 5e-6,
  intercepts: new Float64Array(points / perCycle).fill(2.5),
  residualStandardDeviation: 0.01,
};
const filled = toolWearColumns(hits, values, cycles, settings);
const centers = new Float64Array(points);
const lower = new Float64Array(points);
const upper = new Float64Array(points);
const flags = new Uint8Array(points);

export const benches: readonly ChartBench[] = [
  {
    name: 'tool-wear chart',
    points,
    // Two columns of numbers and one of places are read.
    input: Float64Array.from({ length: 2.5 * points }, (_, index) => index),
    run: () => toolWearColumns(hits, values, cycles, settings, filled),
    plain: () => {
      for (let index = 0; index < points; index++) {
        const center = 2.5 + 5e-6 * hits[index]!;
        centers[index] = center;
        lower[index] = center - 0.03;
        upper[index] = center + 0.03;
        flags[index] = values[index]! > center + 0.03 ? 1 : values[index]! < center - 0.03 ? 2 : 0;
      }
    },
  },
];

const samples = Array.from({ length: 5000 }, (_, index) => ({
  hits: hits[index]!,
  value: values[index]!,
  tool: cycles[index]!,
}));

export const timed: readonly TimedCalculation[] = [
  {
    name: 'tool-wear chart with its line and crossing, 5000 samples',
    run: () => {
      const chart = toolWearChart(samples);
      if (chart.available) wearCrossing(chart.basis.line, { limit: 3.1 });
    },
  },
];
