/** Charts of mixed models, Q charts and robust limits over 10⁶ points. */
import {
  deviationFromNominalColumns,
  deviationFromNominalIndividualsColumns,
  qBinomialColumns,
  qMeanColumns,
  qPoissonColumns,
  qSubgroupColumns,
  qVarianceColumns,
  robustLimitsColumns,
  standardisedColumns,
  standardisedIndividualsColumns,
} from '../../../src/index.ts';
import { binomialLowerTail } from '../../../src/numerics/binomial.ts';
import { fLowerTail } from '../../../src/numerics/f-distribution.ts';
import { hypergeometricLowerTail } from '../../../src/numerics/hypergeometric.ts';
import { normalQuantile } from '../../../src/numerics/normal.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { studentTLowerTail } from '../../../src/numerics/student-t.ts';
import type { ChartBench } from './chart-bench.ts';

const points = 1_000_000;
const subgroupSize = 5;
const source = randomSource(2);
const levels = [10, 25, 4];

const parts = Uint16Array.from({ length: points }, () => Math.floor(3 * source.uniform()));
const values = Float64Array.from(parts, (part) => levels[part]! + 0.1 * source.normal());
const readings = new Float64Array(points * subgroupSize);
for (let place = 0; place < readings.length; place++)
  readings[place] = levels[parts[Math.floor(place / subgroupSize)]!]! + 0.1 * source.normal();
const steady = Float64Array.from({ length: points }, () => 10 + 0.1 * source.normal());
/** Counts, then sizes. */
const inspected = new Float64Array(2 * points);
const counts = inspected.subarray(0, points);
const sizes = inspected.subarray(points).fill(200);
for (let index = 0; index < points; index++) counts[index] = Math.max(0, Math.round(9 + 3 * source.normal()));

const columns = {
  location: new Float64Array(points),
  spread: new Float64Array(points),
  locationBeyondLimits: new Uint8Array(points),
  spreadBeyondLimits: new Uint8Array(points),
};
const q = { values: new Float64Array(points), beyondLimits: new Uint8Array(points) };
const qSpread = { values: new Float64Array(points), beyondLimits: new Uint8Array(points) };

const standard = { mean: 0, withinSubgroupStandardDeviation: 0.1, meanStandardDeviation: null };
const part = ['A', 'B', 'C'];
const nominal = { models: levels.map((level, index) => ({ part: part[index]!, nominal: level })), standard };
const standardised = {
  models: levels.map((level, index) => ({ part: part[index]!, target: level, averageRange: 0.23 })),
  subgroupSize,
};
const individuals = {
  models: levels.map((level, index) => ({ part: part[index]!, mean: level, standardDeviation: 0.1 })),
};

function plainSubgroups(scale: number, limit: number, spreadLimit: number): () => void {
  return () => {
    for (let sample = 0; sample < points; sample++) {
      let sum = 0;
      let smallest = Infinity;
      let largest = -Infinity;
      for (let place = sample * subgroupSize; place < (sample + 1) * subgroupSize; place++) {
        sum += readings[place]!;
        smallest = Math.min(smallest, readings[place]!);
        largest = Math.max(largest, readings[place]!);
      }
      const mean = (sum / subgroupSize - levels[parts[sample]!]!) / scale;
      const range = (largest - smallest) / scale;
      columns.location[sample] = mean;
      columns.spread[sample] = range;
      columns.locationBeyondLimits[sample] = mean > limit ? 1 : mean < -limit ? 2 : 0;
      columns.spreadBeyondLimits[sample] = range > spreadLimit ? 1 : 0;
    }
  };
}

function plainSingles(scale: number): () => void {
  return () => {
    let previous = 0;
    for (let index = 0; index < points; index++) {
      const value = (values[index]! - levels[parts[index]!]!) / scale;
      const range = Math.abs(value - previous);
      previous = value;
      columns.location[index] = value;
      columns.spread[index] = range;
      columns.locationBeyondLimits[index] = value > 3 ? 1 : value < -3 ? 2 : 0;
      columns.spreadBeyondLimits[index] = range > 3.686 ? 1 : 0;
    }
  };
}

/** Each Q written down as its definition stands. */
const plainQMean = () => {
  let sum = 0;
  let squares = 0;
  for (let index = 0; index < points; index++) {
    const value = steady[index]! - 10;
    if (index > 1) {
      const mean = sum / index;
      const deviation = Math.sqrt((squares - index * mean * mean) / (index - 1));
      const t = (Math.sqrt(index / (index + 1)) * (value - mean)) / deviation;
      q.values[index] = normalQuantile(studentTLowerTail(t, index - 1));
    }
    sum += value;
    squares += value * value;
  }
};
const plainQVariance = () => {
  let squares = 0;
  for (let index = 1, pairs = 0; index < points; index += 2, pairs++) {
    const square = (steady[index]! - steady[index - 1]!) ** 2;
    if (pairs > 0) q.values[index] = normalQuantile(fLowerTail((pairs * square) / squares, 1, pairs));
    squares += square;
  }
};
const plainQSubgroup = () => {
  let grandMean = 0;
  let pooled = 0;
  for (let sample = 0; sample < points / subgroupSize; sample++) {
    let sum = 0;
    for (let place = 0; place < subgroupSize; place++) sum += steady[sample * subgroupSize + place]!;
    const mean = sum / subgroupSize;
    let squares = 0;
    for (let place = 0; place < subgroupSize; place++)
      squares += (steady[sample * subgroupSize + place]! - mean) ** 2;
    const before = sample * subgroupSize;
    if (sample > 0) {
      const freedom = before + subgroupSize - sample - 1;
      const t =
        (Math.sqrt((subgroupSize * before) / (before + subgroupSize)) * (mean - grandMean)) /
        Math.sqrt((pooled + squares) / freedom);
      q.values[sample] = normalQuantile(studentTLowerTail(t, freedom));
      const f = squares / (subgroupSize - 1) / (pooled / (before - sample));
      qSpread.values[sample] = normalQuantile(fLowerTail(f, subgroupSize - 1, before - sample));
    }
    grandMean += ((mean - grandMean) * subgroupSize) / (before + subgroupSize);
    pooled += squares;
  }
};
const plainQBinomial = () => {
  let marked = 0;
  for (let index = 0; index < points; index++) {
    marked += counts[index]!;
    const below = hypergeometricLowerTail(counts[index]!, 200, marked, 200 * (index + 1));
    if (index > 0) q.values[index] = normalQuantile(below);
  }
};
const plainQPoisson = () => {
  let marked = 0;
  for (let index = 0; index < points; index++) {
    marked += counts[index]!;
    if (index > 0)
      q.values[index] = normalQuantile(binomialLowerTail(counts[index]!, marked, 1 / (index + 1)));
  }
};
const plainFlags = () => {
  for (let index = 0; index < points; index++)
    q.beyondLimits[index] = steady[index]! > 10.3 ? 1 : steady[index]! < 9.7 ? 2 : 0;
};

const steadySubgroups = {
  location: {
    values: q.values.subarray(0, points / subgroupSize),
    beyondLimits: q.beyondLimits.subarray(0, points / subgroupSize),
  },
  spread: {
    values: qSpread.values.subarray(0, points / subgroupSize),
    beyondLimits: qSpread.beyondLimits.subarray(0, points / subgroupSize),
  },
};

export const benches: readonly ChartBench[] = [
  {
    name: 'deviation from nominal, subgroups of 5',
    points,
    input: readings,
    run: () => deviationFromNominalColumns(readings, parts, { ...nominal, subgroupSize }, columns),
    plain: plainSubgroups(1, 0.134, 0.49),
  },
  {
    name: 'standardised, subgroups of 5',
    points,
    input: readings,
    run: () => standardisedColumns(readings, parts, standardised, columns),
    plain: plainSubgroups(0.23, 0.577, 2.114),
  },
  {
    name: 'deviation from nominal, single values',
    points,
    input: values,
    run: () => deviationFromNominalIndividualsColumns(values, parts, nominal, columns),
    plain: plainSingles(1),
  },
  {
    name: 'standardised single values (Z and W)',
    points,
    input: values,
    run: () => standardisedIndividualsColumns(values, parts, individuals, columns),
    plain: plainSingles(0.1),
  },
  {
    name: 'Q of the mean, nothing given',
    points,
    input: steady,
    run: () => qMeanColumns(steady, {}, q),
    plain: plainQMean,
  },
  {
    name: 'Q of the mean, both given',
    points,
    input: steady,
    run: () => qMeanColumns(steady, { mean: 10, standardDeviation: 0.1 }, q),
    plain: () => {
      for (let index = 0; index < points; index++) {
        const z = (steady[index]! - 10) / 0.1;
        q.values[index] = z;
        q.beyondLimits[index] = z > 3 ? 1 : z < -3 ? 2 : 0;
      }
    },
  },
  {
    name: 'Q of the variance',
    points,
    input: steady,
    run: () => qVarianceColumns(steady, {}, q),
    plain: plainQVariance,
  },
  {
    name: 'Q of subgroups of 5',
    points: points / subgroupSize,
    input: steady,
    run: () => qSubgroupColumns(steady, { subgroupSize }, steadySubgroups),
    plain: plainQSubgroup,
  },
  {
    name: 'Q of binomial counts',
    points,
    input: inspected,
    run: () => qBinomialColumns(counts, sizes, {}, q),
    plain: plainQBinomial,
  },
  {
    name: 'Q of Poisson counts',
    points,
    input: inspected,
    run: () => qPoissonColumns(counts, sizes, {}, q),
    plain: plainQPoisson,
  },
  {
    name: 'robust limits',
    points,
    input: steady,
    run: () => robustLimitsColumns(steady, { centerLine: 10, standardDeviation: 0.1 }, q),
    plain: plainFlags,
  },
];
