/** Residual chart over 10⁶ values, and the calculations about autocorrelation that a person waits for. */
import {
  autocorrelations,
  autocorrelationTest,
  changePointTest,
  falseAlarmsUnderAutocorrelation,
  residualColumns,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import type { ChartBench, TimedCalculation } from './chart-bench.ts';

const points = 1_000_000;
const source = randomSource(3);
const input = Float64Array.from({ length: points }, () => 10 + source.normal());
const model = { mean: 10, coefficient: 0.4, residualStandardDeviation: 0.9 };
const columns = { values: new Float64Array(points), beyondLimits: new Uint8Array(points) };

export const benches: readonly ChartBench[] = [
  {
    name: 'residual chart',
    points,
    input,
    run: () => {
      residualColumns(input, { model }, columns);
    },
    plain: () => {
      const { mean, coefficient, residualStandardDeviation } = model;
      const limit = 3 * residualStandardDeviation;
      columns.values[0] = (input[0]! - mean) * Math.sqrt(1 - coefficient * coefficient);
      for (let index = 1; index < points; index++) {
        const residual = input[index]! - mean - coefficient * (input[index - 1]! - mean);
        columns.values[index] = residual;
        columns.beyondLimits[index] = residual > limit ? 1 : residual < -limit ? 2 : 0;
      }
    },
  },
];

const baseline = Array.from(input.subarray(0, 200));
export const timed: readonly TimedCalculation[] = [
  { name: 'false alarms under autocorrelation', run: () => falseAlarmsUnderAutocorrelation(0.5) },
  { name: 'autocorrelation of 200 values, 20 lags', run: () => autocorrelations(baseline, { lags: 20 }) },
  {
    name: 'autocorrelation test, 999 orders of 200',
    run: () => autocorrelationTest(baseline, { permutations: 999 }),
  },
  { name: 'change-point test, 999 orders of 200', run: () => changePointTest(baseline) },
];
