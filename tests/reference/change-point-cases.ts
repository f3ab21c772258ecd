/** How the cases of change-point and change-point-published are worked out. */
import type { Outcome } from '../../src/errors.ts';
import {
  binomialChangePoint,
  type ChangePoint,
  driftChangePoint,
  meanChangePoint,
  poissonChangePoint,
  varianceChangePoint,
} from '../../src/index.ts';
import { normalUpperTail } from '../../src/numerics/normal.ts';
import { randomSource } from '../../src/numerics/random.ts';
import type { CaseHandlers } from './run-cases.ts';

function available<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(outcome.message);
  return outcome;
}

const asCase = (outcome: Outcome<ChangePoint>) => {
  const { changePoint, ...others } = available(outcome);
  return { ...others, tau: changePoint };
};

/** Size or sizes, whichever the case has. */
const sizes = ({ subgroupSize, subgroupSizes }: { subgroupSize?: number; subgroupSizes?: number[] }) => ({
  ...(subgroupSize === undefined ? {} : { size: subgroupSize }),
  ...(subgroupSizes === undefined ? {} : { sizes: subgroupSizes }),
});

/** Keyed by inputs.kind. */
export const changePointHandlers: CaseHandlers = {
  mean: ({ means, mu0: mean, sigma0: standardDeviation, drop, ...others }) =>
    asCase(meanChangePoint(means, { mean, standardDeviation, drop, ...sizes(others) })),
  meanUnknown: ({ means, sigma0: standardDeviation, drop, ...others }) =>
    asCase(meanChangePoint(means, { standardDeviation, drop, ...sizes(others) })),
  variance: ({ variances, sigma0: standardDeviation, drop, ...others }) =>
    asCase(varianceChangePoint(variances, { standardDeviation, drop, ...sizes(others) })),
  poisson: ({ counts, areas, lambda0: rate, drop }) =>
    asCase(poissonChangePoint(counts, { rate, areas, drop })),
  binomial: ({ counts, sampleSizes, p0: proportion, drop }) =>
    asCase(binomialChangePoint(counts, { proportion, sizes: sampleSizes, drop })),
  drift: ({ means, mu0: mean, sigma0: standardDeviation, drop, ...others }) =>
    asCase(driftChangePoint(means, { mean, standardDeviation, drop, ...sizes(others) })),
};

/**
 * Means of standardised subgroups: stable up to the change point, then shifted, until one after the change lies beyond
 * the limits. False alarms before it are ignored, as in the article.
 */
export function simulatedStep(
  { trueChangePoint, shiftInSigmaOfMean, limits }: Record<string, number>,
  runs: number,
  seed: number,
) {
  const random = randomSource(seed);
  const estimates: number[] = [];
  for (let run = 0; run < runs; run++) {
    const means = Array.from({ length: trueChangePoint! }, () => random.normal());
    do means.push(random.normal() + shiftInSigmaOfMean!);
    while (Math.abs(means.at(-1)!) <= limits!);
    estimates.push(available(meanChangePoint(means, { mean: 0, standardDeviation: 1 })).changePoint);
  }
  const average = estimates.reduce((sum, t) => sum + t, 0) / runs;
  const within = (places: number) =>
    estimates.filter((t) => Math.abs(t - trueChangePoint!) <= places).length / runs;
  const seen =
    normalUpperTail(limits! - shiftInSigmaOfMean!) + normalUpperTail(limits! + shiftInSigmaOfMean!);
  return {
    expectedSignalTime: trueChangePoint! + 1 / seen,
    meanEstimatedChangePoint: average,
    standardDeviationOfEstimate: Math.sqrt(
      estimates.reduce((sum, t) => sum + (t - average) ** 2, 0) / (runs - 1),
    ),
    probabilityExact: within(0),
    probabilityWithin1: within(1),
    probabilityWithin2: within(2),
    probabilityWithin5: within(5),
  };
}
