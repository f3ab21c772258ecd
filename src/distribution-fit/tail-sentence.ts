/** The fraction beyond each of the outer quantiles of ISO 22514-2. */
const tail = 0.00135;

/** What a sample of this size says about the 0.135 % tail, in which the percentile method looks. */
export function tailSentence(sampleSize: number): string {
  const seen = -Math.expm1(sampleSize * Math.log1p(-tail));
  if (sampleSize >= 2000)
    return `About ${Math.round(sampleSize * tail)} of ${sampleSize} values lie in the 0.135 % tail, so it is seen, if roughly.`;
  return `Of the 0.135 % tail ${sampleSize} values say little: the chance that even one lies in it is ${formatChance(seen)}, and it takes 741 values to expect one. The outer percentiles are the assumed shape, not the data.`;
}

function formatChance(chance: number): string {
  return `${(chance * 100).toPrecision(2)} %`;
}
