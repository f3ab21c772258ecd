import { StatisticsError } from '../errors.ts';
import { normalUpperTail } from '../numerics/normal.ts';
import { gaussLegendreRule } from '../numerics/quadrature.ts';

export interface RangeMoments {
  /** Expected range of n independent standard normal values. */
  readonly d2: number;
  /** Standard deviation of that range. */
  readonly d3: number;
}

const largestRangeSize = 100;

/** Beyond this range 100 standard normal values have a probability below 1e-16. */
const longestRange = 14;
const rangeNodes = 96;
/** The trapezoidal rule on the whole line converges exponentially for bell-shaped integrands: 1/8 is plenty. */
const step = 1 / 8;

interface Slice {
  readonly range: number;
  readonly weight: number;
  /** Probability of lying between −range/2 and range/2 about each grid point, and the density at its lower end. */
  readonly between: Float64Array;
  readonly density: Float64Array;
}

let slices: readonly Slice[] | null = null;
const known: (RangeMoments | undefined)[] = [];

/** The parts of the integrals that do not depend on n, computed once. */
function buildSlices(): readonly Slice[] {
  const rule = gaussLegendreRule(rangeNodes, 0, longestRange);
  return rule.nodes.map((range, node) => {
    const count = Math.ceil((range / 2 + 8.5) / step) + 1;
    const between = new Float64Array(count);
    const density = new Float64Array(count);
    for (let k = 0; k < count; k++) {
      const u = k * step;
      const low = u - range / 2;
      const high = u + range / 2;
      between[k] = normalUpperTail(low) - normalUpperTail(high);
      // The integrand at −u mirrors the one at u, so both halves of the line are added here.
      const both = Math.exp((-low * low) / 2) + (k === 0 ? 0 : Math.exp((-high * high) / 2));
      density[k] = (both * step) / Math.sqrt(2 * Math.PI);
    }
    return { range, weight: rule.weights[node]!, between, density };
  });
}

/**
 * Mean d2 and standard deviation d3 of the range of n independent standard normal values, n = 2 … 100, by
 * quadrature of the range distribution
 *
 *   P(W ≤ w) = n ∫ φ(x) [Φ(x + w) − Φ(x)]^(n − 1) dx,   E W = ∫ P(W > w) dw,   E W² = 2 ∫ w P(W > w) dw.
 *
 * Relative error below 1e-11. Each n is computed once.
 *
 * @param argument  what the caller calls n, for errors.
 * @throws StatisticsError `not-an-integer`, `out-of-range`.
 *
 * Source: Tippett, Biometrika 17 (1925) 364-387; Harter, Annals of Mathematical Statistics 31 (1960) 1122-1147.
 */
export function rangeMoments(n: number, argument = 'n'): RangeMoments {
  const remembered = known[n];
  if (remembered !== undefined) return remembered;
  if (!Number.isInteger(n)) throw new StatisticsError('not-an-integer', argument, n);
  if (n < 2 || n > largestRangeSize)
    throw new StatisticsError(
      'out-of-range',
      argument,
      n,
      `A range is taken over 2 to ${largestRangeSize} readings; for more, use the standard deviation.`,
    );
  slices ??= buildSlices();
  let first = 0;
  let second = 0;
  for (const { range, weight, between, density } of slices) {
    let probability = 0;
    for (let k = 0; k < between.length; k++) probability += density[k]! * between[k]! ** (n - 1);
    const longer = Math.max(0, 1 - n * probability);
    first += weight * longer;
    second += 2 * weight * range * longer;
  }
  const moments = { d2: first, d3: Math.sqrt(second - first * first) };
  known[n] = moments;
  return moments;
}
