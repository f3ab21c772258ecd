/** Chances below this are called evidence against the normal distribution: the usual convention, no more. */
const significance = 0.05;

/** What a test of normality says to the person who asked, and what it cannot say at this sample size. */
export function normalitySentence(pValue: number, sampleSize: number): string {
  const chance = pValue < 0.0001 ? 'below 0.0001' : pValue.toPrecision(2);
  const n = sampleSize;
  if (pValue < significance) {
    const finding = `Normal values would look this odd with a chance ${pValue < 0.0001 ? '' : 'of '}${chance}: the normal distribution is doubtful.`;
    return n > 300
      ? `${finding} But ${n} values reject for trifles too, and coarse rounding alone can do it: let the probability plot say whether the tails matter.`
      : `${finding} Look first for mixed streams, drift and odd values, then choose a shape from the physics.`;
  }
  const finding = `Nothing speaks against a normal distribution (p = ${chance}).`;
  return n < 50
    ? `${finding} But ${n} values see only gross departures and nothing of the tails: that is no proof.`
    : `${finding} That holds for the middle; the tail beyond the outermost values stays an assumption.`;
}
