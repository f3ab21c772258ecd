import type { ProcessStandard } from '../../src/charts/control-chart.ts';
import { realWithinStandardDeviations, type ValueExpectation } from '../../src/decision/question-value.ts';
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
 * A machine that is set wrong makes parts that lie so many half tolerances from the nominal; a value beyond is more
 * likely typed wrong. Not 3, because a digit swapped on the drawing of a bead seat lies just below that.
 */
const REAL_WITHIN_HALF_TOLERANCES = 2.75;

/**
 * What makes a single value plausible, on the page and in the server alike: the process as its limits describe it,
 * else the drawing (the nominal, and a quarter of the half tolerance as standard deviation). null: nothing is
 * known yet, so nothing is asked.
 */
export function expectationOf(
  context: StreamContext,
  standard: ProcessStandard | null,
): (ValueExpectation & { readonly realWithin: number }) | null {
  const { characteristic, specification, otherModels, plan } = context;
  const around = (mean: number, standardDeviation: number, realWithin: number) => ({
    mean,
    standardDeviation,
    realWithin,
    otherModels,
    unit: characteristic.unit,
    decimals: characteristic.decimals,
    lowerNaturalBound: characteristic.lowerNaturalBound,
    upperNaturalBound: characteristic.upperNaturalBound,
  });
  if (characteristic.kind === 'count') return null;
  const tolerance = specification === null ? null : halfTolerance(specification);
  const realByDrawing = REAL_WITHIN_HALF_TOLERANCES * (tolerance ?? 0);
  if (standard !== null) {
    const known = singleValueStandardDeviation(standard, plan?.sampleSize ?? 1);
    // The moving range of the means sees few of the steps from batch to batch, so it understates what is usual.
    const stepsUnseen = standard.meanStandardDeviation !== null && tolerance !== null;
    const deviation = stepsUnseen ? Math.max(known, tolerance / 4) : known;
    const realWithin = Math.max(realWithinStandardDeviations * deviation, realByDrawing);
    return around(standard.mean, deviation, realWithin);
  }
  return tolerance === null ? null : around(specification!.nominal!, tolerance / 4, realByDrawing);
}
