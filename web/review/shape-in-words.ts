import { formatCount, formatNumber } from '../format.ts';
import { type Assessment, SIGNIFICANCE } from './assessment.ts';

/** What the shape test found, in words as strong as the level that was used. */
export function shapeInWords({
  shape,
  nearNormal,
  weakEvidence,
}: Pick<Assessment, 'shape' | 'nearNormal' | 'weakEvidence'>): string {
  if (!shape.available) return shape.message;
  const test = `Anderson-Darling test: A* = ${formatNumber(shape.adjustedStatistic, 2)}, n = ${formatCount(shape.sampleSize)}, ${
    shape.pValue < 0.0001 ? `p below ${formatNumber(0.0001, 4)}` : `p = ${formatNumber(shape.pValue, 4)}`
  }.`;
  if (weakEvidence)
    return `${test} p = ${formatNumber(shape.pValue, 3)}: weak evidence against a normal shape, not enough at the ${formatNumber(100 * SIGNIFICANCE, 0)} % level used.`;
  return nearNormal === true
    ? `${test} Nothing speaks against a normal shape, which does not prove one.`
    : `${test} Normal values would almost never look like this: a normal curve is not drawn, and what is computed from one is not to be trusted here.`;
}
