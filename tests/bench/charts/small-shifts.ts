/** Charts with a memory over many points. */
import { cusumColumns, ewmaColumns, movingAverageColumns } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import type { ChartBench } from './chart-bench.ts';

const points = 1_000_000;
const { normal } = randomSource(1);
const input = Float64Array.from({ length: points }, () => 10 + 0.3 * normal());
const sizes = Uint8Array.from({ length: points }, (_, index) => 3 + (index % 3));
const process = { target: 10, withinSubgroupStandardDeviation: 0.3 };
const columns = ewmaColumns(input, process);
const sums = cusumColumns(input, process);
const plainly = new Float64Array(points);
const beyond = new Uint8Array(points);

export const benches: readonly ChartBench[] = [
  {
    name: 'EWMA',
    points,
    input,
    run: () => ewmaColumns(input, { ...process, smoothing: 0.2 }, columns),
    plain: () => {
      let average = 10;
      for (let i = 0; i < points; i++) {
        average = 0.2 * input[i]! + 0.8 * average;
        const width = 3 * 0.3 * Math.sqrt((0.2 / 1.8) * (1 - 0.8 ** (2 * (i + 1))));
        plainly[i] = average;
        beyond[i] = average > 10 + width ? 1 : average < 10 - width ? 2 : 0;
      }
    },
  },
  {
    name: 'EWMA, sizes vary',
    points,
    input,
    run: () => ewmaColumns(input, { ...process, smoothing: 0.2, sizes }, columns),
    plain: () => {
      let average = 10;
      let variance = 0;
      for (let i = 0; i < points; i++) {
        average = 0.2 * input[i]! + 0.8 * average;
        variance = (0.04 * 0.09) / sizes[i]! + 0.64 * variance;
        const width = 3 * Math.sqrt(variance);
        plainly[i] = average;
        beyond[i] = average > 10 + width ? 1 : average < 10 - width ? 2 : 0;
      }
    },
  },
  {
    name: 'CUSUM, two sides',
    points,
    input,
    run: () => cusumColumns(input, process, sums),
    plain: () => {
      let upper = 0;
      let lower = 0;
      for (let i = 0; i < points; i++) {
        upper = Math.max(0, upper + input[i]! - 10.15);
        lower = Math.max(0, lower + 9.85 - input[i]!);
        plainly[i] = upper;
        beyond[i] = upper > 1.5 ? 1 : lower > 1.5 ? 2 : 0;
      }
    },
  },
  {
    name: 'moving average of 5',
    points,
    input,
    run: () => movingAverageColumns(input, { ...process, span: 5 }, columns),
    plain: () => {
      for (let i = 0; i < points; i++) {
        const count = Math.min(i + 1, 5);
        let sum = 0;
        for (let back = 0; back < count; back++) sum += input[i - back]!;
        const width = (3 * 0.3) / Math.sqrt(count);
        plainly[i] = sum / count;
        beyond[i] = sum / count > 10 + width ? 1 : sum / count < 10 - width ? 2 : 0;
      }
    },
  },
];
