import type { ProcessStandard } from '../../src/charts/control-chart.ts';
import { realWithinStandardDeviations, type ValueExpectation } from '../../src/decision/question-value.ts';
import { singleValueStandardDeviation } from '../../src/decision/single-value-standard-deviation.ts';
import type { Specification } from '../schemas.ts';
import type { StreamContext } from './stream-context.ts';

/** The distance of the nominal from the nearer specification limit; null where the drawing gives none. */
function halfTolerance(specification: Specification): number | null {
  const { nominal, lowerSpecificationLimit: lower, upperSpecificationLimit: upper } = specification;
  if (nominal === null) return null;
  const distanceOf = (limit: number | null) => (limit === null ? Infinity : Math.abs(limit - nominal));
  const nearest = Math.min(distanceOf(lower), distanceOf(upper));
  return nearest > 0 && nearest < Infinity ? nearest : null;
}

/**
 * A machine that is set wrong makes parts that lie so many half tolerances from the nominal; a value beyond is more
 * likely typed wrong. Not 3, because a digit swapped on the drawing of a bead seat lies just below that.
 */
const REAL_WITHIN_HALF_TOLERANCES = 2.75;

/**
 * What the drawing alone makes plausible: about the nominal, with a quarter of the half tolerance as standard
 * deviation. Where it gives one limit only, as for a runout or a burr, the natural bound is the other end; nobody
 * knows yet where in between the process lies, so twice as much is taken for usual, and for real as much as where
 * the process is known. null: the drawing says too little.
 */
function byDrawing({ characteristic, specification }: StreamContext) {
  if (specification === null) return null;
  const { nominal, lowerSpecificationLimit, upperSpecificationLimit } = specification;
  const low = lowerSpecificationLimit ?? characteristic.lowerNaturalBound;
  const high = upperSpecificationLimit ?? characteristic.upperNaturalBound;
  const tolerance = halfTolerance(specification);
  // A nominal at the bound, 0 for a runout, is wished for and not what is measured.
  if (tolerance !== null && nominal !== low && nominal !== high)
    return {
      mean: nominal!,
      deviation: tolerance / 4,
      realWithin: REAL_WITHIN_HALF_TOLERANCES * tolerance,
    };
  if (low === null || high === null || low >= high) return null;
  const mean = (low + high) / 2;
  const twoLimits = lowerSpecificationLimit !== null && upperSpecificationLimit !== null;
  if (twoLimits)
    return {
      mean,
      deviation: (high - low) / 8,
      realWithin: (REAL_WITHIN_HALF_TOLERANCES * (high - low)) / 2,
    };
  const deviation = (high - low) / 4;
  return { mean, deviation, realWithin: realWithinStandardDeviations * deviation };
}

/**
 * What makes a single value plausible, on the page and in the server alike: the process as its limits describe it,
 * else the drawing. null: nothing is known yet, so nothing is asked.
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
  if (standard === null) {
    const drawn = byDrawing(context);
    return drawn === null ? null : around(drawn.mean, drawn.deviation, drawn.realWithin);
  }
  const tolerance = specification === null ? null : halfTolerance(specification);
  const known = singleValueStandardDeviation(standard, plan?.sampleSize ?? 1);
  // The moving range of the means sees few of the steps from batch to batch, so it understates what is usual.
  const stepsUnseen = standard.meanStandardDeviation !== null && tolerance !== null;
  const deviation = stepsUnseen ? Math.max(known, tolerance / 4) : known;
  const realWithin = Math.max(
    realWithinStandardDeviations * deviation,
    REAL_WITHIN_HALF_TOLERANCES * (tolerance ?? 0),
  );
  return around(standard.mean, deviation, realWithin);
}
