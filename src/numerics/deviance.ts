/** x − ln(1 + x) for x > −1, to the last digits also where both nearly cancel. */
export function excessOverLog(x: number): number {
  if (x < -0.4 || x > 0.7) return x - Math.log1p(x);
  // ln(1 + x) = 2 artanh(r) with r = x/(2 + x), whose first term is x − xr.
  const r = x / (2 + x);
  const square = r * r;
  let power = 1;
  let sum = 0;
  for (let k = 3; power > 1e-18; k += 2) {
    sum += power / k;
    power *= square;
  }
  return r * (x - 2 * square * sum);
}

/**
 * count · ln(count/mean) + mean − count, for both above 0: how unlikely a count is at a mean.
 *
 * @param difference  mean − count, which the caller may know to more digits than the two numbers give.
 */
export function deviance(count: number, mean: number, difference = mean - count): number {
  const ratio = difference / count;
  return ratio < -0.4 ? difference - count * Math.log(mean / count) : count * excessOverLog(ratio);
}
