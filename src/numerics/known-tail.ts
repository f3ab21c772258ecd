/**
 * A tail area by its logarithm, so that it neither underflows nor loses digits, on the side where it was computed
 * without cancellation.
 */
export interface KnownTail {
  readonly side: 'lower' | 'upper';
  /** ln of the area on that side, at most 0. */
  readonly log: number;
  /** ln of the density of ln x (or of the log odds) there. */
  readonly logDensity: number;
}

/** The probability below, or above, the value that the tail was computed at. */
export function probabilityOn(side: 'lower' | 'upper', tail: KnownTail): number {
  return tail.side === side ? Math.exp(tail.log) : -Math.expm1(tail.log);
}

/** ln of the probability on one side. */
function logProbabilityOn(side: 'lower' | 'upper', tail: KnownTail): number {
  return tail.side === side ? tail.log : Math.log(-Math.expm1(tail.log));
}

/**
 * The positive x whose tail on `side` holds `probability`, in (0, 1): Newton steps on the logarithm of the tail over
 * ln x. For a density that is log-concave in ln x (gamma, F, beta in its odds) that curve is concave, so the steps
 * converge from any start. Answers beyond the range of numbers come out as 0 or Infinity.
 */
export function solveTail(
  probability: number,
  side: 'lower' | 'upper',
  start: number,
  tailAt: (x: number) => KnownTail,
): number {
  const target = Math.log(probability);
  const direction = side === 'lower' ? 1 : -1;
  let x = start;
  for (let step = 0; step < 300 && x > 0 && x < Infinity; step++) {
    const tail = tailAt(x);
    const log = logProbabilityOn(side, tail);
    const move = direction * (target - log) * Math.exp(log - tail.logDensity);
    // Beyond the range of numbers on the way out.
    if (Number.isNaN(move)) return x < start ? 0 : Infinity;
    // A move from where the curve is flat may be wild: the next ones are not.
    const bounded = Math.min(20, Math.max(-20, move));
    x *= Math.exp(bounded);
    if (!(Math.abs(bounded) > 1e-15)) break;
  }
  return x;
}
