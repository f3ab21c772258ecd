import type { DistributionPercentiles } from './percentile-indices.ts';

/**
 * Turns the percentiles of a refitted sample into percentiles that the process could have: the errors that the sample
 * made in the median and in each half of the spread, relative to its own spread, are taken off the estimate.
 *
 * In a family of location and scale the result is a generalised pivotal quantity, and bounds from it are exact for every
 * percentile. For families that are such in the logarithm (lognormal, Weibull) choose 'logarithmic'.
 *
 * Source: Weerahandi, Journal of the American Statistical Association 88 (1993) 899-905.
 */
export function percentilePivot(
  estimate: DistributionPercentiles,
  scale: 'linear' | 'logarithmic',
): (refitted: DistributionPercentiles) => DistributionPercentiles {
  const [to, from] = scale === 'linear' ? [(x: number) => x, (x: number) => x] : [Math.log, Math.exp];
  const median = to(estimate.median);
  const below = median - to(estimate.lowerPercentile);
  const above = to(estimate.upperPercentile) - median;
  return (refitted) => {
    const drawnMedian = to(refitted.median);
    const drawnBelow = drawnMedian - to(refitted.lowerPercentile);
    const drawnAbove = to(refitted.upperPercentile) - drawnMedian;
    const middle = median - ((drawnMedian - median) * (below + above)) / (drawnBelow + drawnAbove);
    return {
      lowerPercentile: from(middle - below * (below / drawnBelow)),
      median: from(middle),
      upperPercentile: from(middle + above * (above / drawnAbove)),
    };
  };
}
