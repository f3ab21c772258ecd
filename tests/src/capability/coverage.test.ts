/**
 * Simulated coverage of bounds that have no formula. A short look with every test run; the long table with
 * COVERAGE_RUNS=1000 npx vitest run tests/src/capability/coverage.test.ts
 */
import { afterAll, describe, expect, it } from 'vitest';
import { functionsOf } from '../../../src/distribution-fit/families.ts';
import {
  bootstrapIndex,
  type Distribution,
  distributionPerformance,
  fractionOutsideCircle,
  performanceOfParts,
  positionPerformance,
  streamPerformance,
} from '../../../src/index.ts';
import { normalQuantile } from '../../../src/numerics/normal.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { found } from './outcomes.ts';

const runs = Number(process.env.COVERAGE_RUNS ?? 60);
const resamples = 200;
const table: string[] = [];
afterAll(() => {
  if (process.env.COVERAGE_RUNS !== undefined) process.stdout.write(`${table.join('\n')}\n`);
});

/** Shares of runs in which the lower bound lies below the truth and the upper bound above it. */
function coverage(
  name: string,
  truth: number,
  bounds: (seed: number) => { lower: number; upper: number | null },
) {
  let lower = 0;
  let upper = 0;
  for (let seed = 0; seed < runs; seed++) {
    const bound = bounds(seed);
    if (bound.lower <= truth) lower++;
    if ((bound.upper ?? Infinity) >= truth) upper++;
  }
  table.push(`${name.padEnd(48)} lower ${(lower / runs).toFixed(3)}  upper ${(upper / runs).toFixed(3)}`);
  return lower / runs;
}

/** Three standard errors below the coverage that the long table shows, which is `usual`. */
const atLeast = (usual: number) => usual - 3 * Math.sqrt((usual * (1 - usual)) / runs);

describe('coverage of 95 % bounds', () => {
  it.each([
    [30, 'BCa', 0.88],
    [125, 'BCa', 0.9],
    [30, 'percentile', 0.9],
    [125, 'percentile', 0.93],
  ] as const)('Cpk with both limits, %i readings, %s bootstrap', (n, bootstrap, usual) => {
    const random = randomSource(n);
    let guaranteed = 0;
    const share = coverage(`Cpk n=${n} ${bootstrap}`, 4 / 3, (seed) => {
      const subgroups = Array.from({ length: n / 5 }, () => Array.from({ length: 5 }, random.normal));
      const limits = { lowerSpecificationLimit: -4, upperSpecificationLimit: 4 };
      const options = { method: 'pooled', bootstrap, resamples, seed } as const;
      const index = found(bootstrapIndex(subgroups, limits, options));
      if (index.guaranteedLowerBound! <= 4 / 3) guaranteed++;
      return { lower: index.lowerBound, upper: index.upperBound };
    });
    expect(share).toBeGreaterThan(atLeast(usual));
    table.push(`${`Cpk n=${n} guaranteed`.padEnd(48)} lower ${(guaranteed / runs).toFixed(3)}`);
    expect(guaranteed / runs).toBeGreaterThan(atLeast(0.95));
  });

  const shapes: readonly (readonly [Distribution, number])[] = [
    [{ distribution: 'normal', parameters: { mu: 10, sigma: 1 } }, 0.95],
    [{ distribution: 'lognormal', parameters: { mu: 0, sigma: 0.4 } }, 0.95],
    [{ distribution: 'weibull', parameters: { shape: 1.5, scale: 1 } }, 0.95],
    [{ distribution: 'gamma', parameters: { shape: 2, scale: 1 } }, 0.93],
    [{ distribution: 'rayleigh', parameters: { sigma: 1 } }, 0.95],
    [{ distribution: 'folded-normal', parameters: { mu: 0, sigma: 1 } }, 0.88],
  ];
  it.each(shapes)('percentile method, 50 values, %o', (shape, usual) => {
    const functions = functionsOf(shape);
    const median = functions.quantile(0.5);
    const upper = median + 1.33 * (functions.quantile(0.99865) - median);
    const random = randomSource(7);
    const limits = { lowerSpecificationLimit: null, upperSpecificationLimit: upper };
    const share = coverage(`${shape.distribution} n=50`, 1.33, (seed) => {
      const values = Array.from({ length: 50 }, () => functions.draw(random));
      const options = { distribution: shape.distribution, resamples, seed };
      const { ppk } = found(distributionPerformance(values, limits, options));
      return { lower: ppk.lowerBound, upper: ppk.upperBound };
    });
    expect(share).toBeGreaterThan(atLeast(usual));
  });

  it.each([
    [0, 0.2, 0.2],
    [0.2, 0.2, 0.15],
    [0.3, 0.25, 0.1],
  ])('position, 50 parts, offset %d, deviations %d and %d', (offset, larger, smaller) => {
    const random = randomSource(11);
    const distribution = {
      meanX: offset,
      meanY: 0,
      varianceX: larger ** 2,
      varianceY: smaller ** 2,
      covariance: 0,
    };
    const truth = -normalQuantile(found(fractionOutsideCircle(distribution, 1)).fraction / 2) / 3;
    const share = coverage(`position ${offset} ${larger} ${smaller}`, truth, (seed) => {
      const positions = Array.from({ length: 50 }, () => ({
        x: offset + larger * random.normal(),
        y: smaller * random.normal(),
      }));
      const { index } = found(positionPerformance(positions, { toleranceDiameter: 2, resamples: 100, seed }));
      return { lower: index.lowerBound, upper: index.upperBound };
    });
    expect(share).toBeGreaterThan(atLeast(0.92));
  });

  it.each([
    [0.1, 20],
    [0.4, 15],
  ])('parts without the gauge, share %d with %i degrees of freedom', (gaugeShare, freedom) => {
    const random = randomSource(13);
    const noise = Math.sqrt(gaugeShare / (1 - gaugeShare));
    const limits = { lowerSpecificationLimit: null, upperSpecificationLimit: 4 };
    const share = coverage(`parts, gauge ${gaugeShare} of the variance`, 4 / 3, (seed) => {
      const values = Array.from({ length: 60 }, () => random.normal() + noise * random.normal());
      const squares = Array.from({ length: freedom }, () => random.normal() ** 2).reduce((a, b) => a + b);
      const result = performanceOfParts(values, limits, {
        gaugeStandardDeviation: noise * Math.sqrt(squares / freedom),
        gaugeDegreesOfFreedom: freedom,
        resamples: 400,
        seed,
      });
      // Where the gauge explains all, nothing wrong is said.
      return result.available
        ? { lower: result.ppk.lowerBound, upper: result.ppk.upperBound }
        : { lower: 0, upper: null };
    });
    expect(share).toBeGreaterThan(atLeast(0.94));
  });

  it('worst of four streams, though nobody knew which it would be', () => {
    const random = randomSource(17);
    const limits = { lowerSpecificationLimit: -4, upperSpecificationLimit: 4 };
    const share = coverage('worst of four streams', 1, (seed) => {
      const streams = [0, 0.5, 0.8, 1].map((mean, place) => ({
        name: `die ${place}`,
        values: Array.from({ length: 40 }, () => mean + random.normal()),
      }));
      const result = found(streamPerformance(streams, limits, { resamples: 100, seed }));
      return { lower: result.worstLowerBound, upper: null };
    });
    expect(share).toBeGreaterThan(atLeast(0.95));
  });
});
