import { chiSquareUpperTail } from '../numerics/chi-square.ts';
import { normalQuantile, normalUpperTail } from '../numerics/normal.ts';
import { gaussLegendreRule } from '../numerics/quadrature.ts';
import { monotoneRoot } from '../numerics/root.ts';

interface Request {
  readonly sampleSize: number;
  readonly degreesOfFreedom: number;
  readonly coverage: number;
  readonly confidence: number;
}

const { nodes, weights } = gaussLegendreRule(32, 0, 1);

/**
 * Half-width R of an interval whose middle lies `offset` standard deviations from the mean of a standard normal
 * distribution and which holds `coverage` of it: Φ(offset + R) − Φ(offset − R) = coverage.
 *
 * Newton on the logarithm of what lies outside, which is concave, from an R that is too large: every step stays on
 * that side.
 */
export function coveringHalfWidth(offset: number, coverage: number): number {
  const outside = 1 - coverage;
  let width = offset - normalQuantile(outside / 2);
  for (let step = 0; step < 60; step++) {
    const now = normalUpperTail(width - offset) + normalUpperTail(width + offset);
    const slope = density(width - offset) + density(width + offset);
    const move = (Math.log(now / outside) * now) / slope;
    width += move;
    if (Math.abs(move) < 1e-14 * width) break;
  }
  return width;
}

/**
 * The factor k for which the interval mean ± k·s holds the coverage with the confidence: over the distribution of the
 * mean's offset x, the mean of P(s large enough) = P(χ² > ν R(x)²/k²).
 *
 * Source: Eberhardt, Mee and Reeve, Computing factors for exact two-sided tolerance limits for a normal distribution,
 * Communications in Statistics B 18 (1989) 397-413 (cited from memory).
 *
 * @param guess  an approximation of k, Howe's.
 */
export function exactTwoSidedFactor(request: Request, guess: number): number | null {
  const { sampleSize, degreesOfFreedom, coverage, confidence } = request;
  const end = 8.5 / Math.sqrt(sampleSize);
  const achieved = (factor: number) => {
    // Where ν is large the tail falls from 1 to 0 in a narrow band of offsets: the panels enclose it.
    const middle = offsetOf(factor, coverage, end);
    const band = (9 * factor) / Math.sqrt(2 * degreesOfFreedom);
    const cuts = [0, Math.max(0, middle - band), Math.min(end, Math.max(0, middle + band)), end];
    let sum = 0;
    let mass = 0;
    for (let panel = 0; panel < 3; panel++) {
      const [from, width] = [cuts[panel]!, cuts[panel + 1]! - cuts[panel]!];
      if (width <= 0) continue;
      for (let k = 0; k < nodes.length; k++) {
        const offset = from + width * nodes[k]!;
        const weight = width * weights[k]! * density(offset * Math.sqrt(sampleSize));
        const needed = coveringHalfWidth(offset, coverage) / factor;
        mass += weight;
        sum += weight * chiSquareUpperTail(degreesOfFreedom * needed * needed, degreesOfFreedom);
      }
    }
    return sum / mass;
  };
  const start = Math.log(guess);
  const root = monotoneRoot((log) => achieved(Math.exp(log)) - confidence, start - 0.02, start + 0.02);
  return root === null ? null : Math.exp(root);
}

/** The offset at which an interval of this half-width just holds the coverage; 0 where it never does. */
function offsetOf(halfWidth: number, coverage: number, end: number): number {
  const outside = 1 - coverage;
  const excess = (offset: number) =>
    normalUpperTail(halfWidth - offset) + normalUpperTail(halfWidth + offset) - outside;
  if (excess(0) >= 0) return 0;
  if (excess(end) <= 0) return end;
  let [low, high] = [0, end];
  for (let step = 0; step < 20; step++) {
    const middle = (low + high) / 2;
    if (excess(middle) < 0) low = middle;
    else high = middle;
  }
  return low;
}

const density = (z: number) => Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
