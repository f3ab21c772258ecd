import type { StandardDeviationMethod } from '../charts/control-chart.ts';
import { chartFactors } from '../samples/chart-factors.ts';
import type { SubgroupStatistics } from '../samples/subgroup.ts';

/**
 * Degrees of freedom of a within-subgroup standard deviation. Exact for the pooled ones: Σ(nᵢ − 1). For averages of
 * ranges or standard deviations, those of the chi distribution with the same coefficient of variation; they know
 * less than the pooled one from the same readings.
 *
 * Source: Patnaik, Biometrika 37 (1950) 78-87 (cited from memory); for moving ranges the covariance of neighbours,
 * from the mean absolute product of a bivariate normal with correlation −½.
 */
export function degreesOfFreedom(
  statistics: readonly SubgroupStatistics[],
  method: Exclude<StandardDeviationMethod, 'given'>,
): number {
  if (method === 'moving-range') return fromRelativeVariance(movingRangeVariance(statistics));
  const sizes = statistics.map(({ size }) => size).filter((size) => size >= 2);
  if (method === 'pooled' || method === 'pooled-unbiased')
    return sizes.reduce((sum, size) => sum + size - 1, 0);
  const ranges = method === 'range' || method === 'range-minimum-variance';
  const variances = sizes.map((size) => {
    const { d2, d3, c4 } = chartFactors(size);
    return ranges ? (d3 / d2) ** 2 : (1 - c4 * c4) / (c4 * c4);
  });
  const weighted = method === 'range-minimum-variance' || method === 'standard-deviation-minimum-variance';
  return fromRelativeVariance(
    weighted
      ? 1 / variances.reduce((sum, variance) => sum + 1 / variance, 0)
      : variances.reduce((sum, variance) => sum + variance, 0) / sizes.length ** 2,
  );
}

/** The chi distribution has the squared coefficient of variation 1/(2ν) + 1/(8ν²) + …, solved for ν. */
function fromRelativeVariance(relativeVariance: number): number {
  return 1 / (2 * relativeVariance) + 0.25;
}

/** Relative variance of an average moving range of two; neighbouring ranges share a value. */
function movingRangeVariance(statistics: readonly SubgroupStatistics[]): number {
  const present = statistics.map(({ mean }) => mean !== null);
  const ranges = present.map((here, index) => here && present[index + 1] === true);
  const count = ranges.filter(Boolean).length;
  const neighbours = ranges.filter((here, index) => here && ranges[index + 1]).length;
  const meanSquare = 4 / Math.PI;
  const variance = 2 - meanSquare;
  const covariance = (4 / Math.PI) * (Math.sqrt(3) / 2 + Math.PI / 12) - meanSquare;
  return (count * variance + 2 * neighbours * covariance) / (count ** 2 * meanSquare);
}
