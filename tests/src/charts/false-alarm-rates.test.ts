/**
 * How often the limits of each pair of charts call a steady process, by seeded simulation of normal readings, against
 * the exact probability. Means: two normal tails beyond 3. Ranges: P(W > d2 + 3 d3) of the range of n standard normal
 * values, by scipy.stats.studentized_range with infinite degrees of freedom (SciPy 1.17). Standard deviations:
 * chi-square tails beyond c4 ± 3 √(1 − c4²), scipy.stats.chi2. Moving ranges of two: a half-normal tail.
 */
import { expect, test } from 'vitest';
import {
  type ChartPair,
  individualsAndMovingRangeChart,
  meanAndRangeChart,
  meanAndStandardDeviationChart,
  type Outcome,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

const standard = { mean: 12, withinSubgroupStandardDeviation: 0.02, meanStandardDeviation: null };
const outsideMeans = 0.0026997960632601866;

/** Readings of a steady process, `size` to a subgroup. */
function steady(count: number, size: number): number[][] {
  const random = randomSource(size);
  return Array.from({ length: count }, () => Array.from({ length: size }, () => 12 + 0.02 * random.normal()));
}

function shareOutside(chart: Outcome<ChartPair>, which: 'location' | 'spread'): number {
  if (!chart.available) throw new Error(chart.message);
  const judged = chart[which].points.filter(({ value, limits }) => value !== null && limits !== null);
  return judged.filter(({ beyondLimits }) => beyondLimits).length / judged.length;
}

/** Four standard errors of a share over so many points. */
const fourStandardErrors = (share: number, count: number) => 4 * Math.sqrt((share * (1 - share)) / count);

const count = 60_000;

test.each([
  [2, 0.009152214650465673],
  [3, 0.005842954142162404],
  [5, 0.004603048432475942],
  [8, 0.00434650726356145 + 5.671429852425938e-6],
])('mean and range charts of subgroups of %i', (size, outsideRanges) => {
  const chart = meanAndRangeChart(steady(count, size), { standard });
  for (const [which, exact] of [
    ['location', outsideMeans],
    ['spread', outsideRanges],
  ] as const)
    expect(Math.abs(shareOutside(chart, which) - exact)).toBeLessThan(fourStandardErrors(exact, count));
});

test.each([
  [3, 0.005627501354868551],
  [8, 0.003129803442623522 + 3.66794058407419e-5],
  [10, 0.002882704745609193 + 0.000116651926400241],
])('mean and standard deviation charts of subgroups of %i', (size, outsideSpreads) => {
  const chart = meanAndStandardDeviationChart(steady(count, size), { standard });
  expect(Math.abs(shareOutside(chart, 'location') - outsideMeans)).toBeLessThan(
    fourStandardErrors(outsideMeans, count),
  );
  expect(Math.abs(shareOutside(chart, 'spread') - outsideSpreads)).toBeLessThan(
    fourStandardErrors(outsideSpreads, count),
  );
});

test('individuals and moving range charts', () => {
  const values = steady(count, 1).flat();
  const chart = individualsAndMovingRangeChart(values, { standard });
  expect(Math.abs(shareOutside(chart, 'location') - outsideMeans)).toBeLessThan(
    fourStandardErrors(outsideMeans, count),
  );
  // Neighbouring moving ranges share a value, so their share varies about half as much again.
  expect(Math.abs(shareOutside(chart, 'spread') - 0.009152214650465335)).toBeLessThan(
    1.5 * fourStandardErrors(0.009152214650465335, count),
  );
});

test('limits estimated from the same long baseline call as often as given ones', () => {
  const chart = meanAndRangeChart(steady(count, 5));
  expect(Math.abs(shareOutside(chart, 'location') - outsideMeans)).toBeLessThan(
    fourStandardErrors(outsideMeans, count),
  );
});
