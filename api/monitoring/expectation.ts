import type { ProcessStandard } from '../../src/charts/control-chart.ts';
import type { ValueExpectation } from '../../src/decision/question-value.ts';
import { singleValueStandardDeviation } from '../../src/decision/single-value-standard-deviation.ts';
import type { Specification } from '../schemas.ts';
import type { StreamContext } from './stream-context.ts';

/** The distance of the nominal from the nearer specification limit; null where the drawing gives none. */
function halfTolerance(specification: Specification): number | null {
  const { nominal, lowerSpecificationLimit: lower, upperSpecificationLimit: upper } = specification;
  if (nominal === null) return null;
  const distances = [lower, upper].flatMap((limit) => (limit === null ? [] : [Math.abs(limit - nominal)]));
  const nearest = Math.min(...distances);
  return distances.length > 0 && nearest > 0 ? nearest : null;
}

/**
 * What makes a single value plausible, on the page and in the server alike: the process as its limits describe it,
 * else the drawing (the nominal, and a quarter of the half tolerance as standard deviation). null: nothing is
 * known yet, so nothing is asked.
 */
export function expectationOf(
  context: StreamContext,
  standard: ProcessStandard | null,
): ValueExpectation | null {
  const { characteristic, specification, otherModels, plan } = context;
  const around = (mean: number, standardDeviation: number): ValueExpectation => ({
    mean,
    standardDeviation,
    otherModels,
    unit: characteristic.unit,
    decimals: characteristic.decimals,
    lowerNaturalBound: characteristic.lowerNaturalBound,
    upperNaturalBound: characteristic.upperNaturalBound,
  });
  if (characteristic.kind === 'count') return null;
  const tolerance = specification === null ? null : halfTolerance(specification);
  if (standard !== null) {
    const known = singleValueStandardDeviation(standard, plan?.sampleSize ?? 1);
    // The moving range of the means sees few of the steps from batch to batch, so it understates what is usual.
    const stepsUnseen = standard.meanStandardDeviation !== null && tolerance !== null;
    return around(standard.mean, stepsUnseen ? Math.max(known, tolerance / 4) : known);
  }
  return tolerance === null ? null : around(specification!.nominal!, tolerance / 4);
}
