interface ValueAndSlope {
  readonly value: number;
  readonly slope: number;
}

/**
 * Root of an increasing function, by Newton steps that move at most `largestStep` and stay between the points where
 * the function was seen below and above 0. Ends where rounding keeps the steps from getting smaller.
 *
 * @returns null where 200 steps were not enough.
 */
export function newtonRoot(f: (x: number) => ValueAndSlope, start: number, largestStep = 1): number | null {
  let low = -Infinity;
  let high = Infinity;
  let x = start;
  let previous = Infinity;
  for (let step = 0; step < 200; step++) {
    const { value, slope } = f(x);
    if (value === 0) return x;
    if (value < 0) low = x;
    else high = x;
    const wanted = slope > 0 ? -value / slope : value < 0 ? Infinity : -Infinity;
    const move = Math.max(-largestStep, Math.min(largestStep, wanted));
    const inside = x + move > low && x + move < high;
    const next = inside || high - low === Infinity ? x + move : (low + high) / 2;
    const size = Math.abs(next - x);
    const scale = Math.max(1, Math.abs(x));
    if (next === x || size <= 1e-16 * scale || (size < 1e-10 * scale && size >= 0.75 * previous)) return next;
    previous = size;
    x = next;
  }
  return null;
}
