import { requireBetween, requireWhole } from '../../checks.ts';
import type { Outcome } from '../../errors.ts';
import { chiSquareQuantile, chiSquareUpperTail } from '../../numerics/chi-square.ts';
import { logGamma } from '../../numerics/gamma.ts';
import { solveLinear } from '../../numerics/matrix.ts';
import { gaussLegendreRule } from '../../numerics/quadrature.ts';
import { monotoneRoot } from '../../numerics/root.ts';

export interface MewmaDesign {
  /** Characteristics p, whole, 1 … 100. */
  readonly characteristics: number;
  /** Smoothing parameter λ, 0.01 … 1. */
  readonly smoothing: number;
}

/**
 * Average run length of a multivariate EWMA chart in control: points until a false alarm, on average.
 *
 * In control the length r of the whitened average decides alone, and given r the next length has a noncentral chi
 * distribution. L(r) = 1 + ∫ L(u) f(u | r) du over the lengths inside the limit is solved on Gauss-Legendre nodes, to
 * about 8 digits. It holds for limits 'asymptotic'; 'time-varying' limits signal more often among the first points
 * (simulated with λ = 0.1 and p = 2: 186 points instead of 200; with λ = 0.3: 194).
 *
 * @param design             characteristics, smoothing.
 * @param upperControlLimit  limit of T², > 0, at most 200.
 * @returns                  average run length ≥ 1, at most 10¹²; Unavailable `not-reachable` beyond.
 * @throws                   StatisticsError `out-of-range`, `not-an-integer`, `not-finite`.
 *
 * Source: Rigdon, Journal of Statistical Computation and Simulation 52, 1995 (integral equation); Runger and Prabhu,
 * Journal of the American Statistical Association 91, 1996 (the same process as a Markov chain).
 *
 * @example
 * mewmaAverageRunLength({ characteristics: 2, smoothing: 0.1 }, 8.64);
 * // available, averageRunLength 200.54…
 */
export function mewmaAverageRunLength(
  design: MewmaDesign,
  upperControlLimit: number,
): Outcome<{ readonly averageRunLength: number }> {
  requireDesign(design);
  requireBetween(upperControlLimit, smallestLimit, largestLimit, 'upperControlLimit');
  const averageRunLength = runLength(design, upperControlLimit);
  if (!(averageRunLength <= longest))
    return {
      available: false,
      reason: 'not-reachable',
      message: 'With this limit a false alarm practically never comes. Choose a smaller limit.',
    };
  return { available: true, averageRunLength };
}

/**
 * Limit of a multivariate EWMA chart that gives a wanted average run length in control.
 *
 * @param design   characteristics, smoothing, and averageRunLength, 2 … 10⁶ points until a false alarm.
 * @returns        the limit of T², to about 8 digits; Unavailable `not-reachable` where the search finds none.
 * @throws         StatisticsError `out-of-range`, `not-an-integer`, `not-finite`.
 *
 * Source: as mewmaAverageRunLength.
 *
 * @example
 * mewmaLimit({ characteristics: 2, smoothing: 0.1, averageRunLength: 200 });
 * // available, upperControlLimit 8.6335…
 */
export function mewmaLimit(
  design: MewmaDesign & { readonly averageRunLength: number },
): Outcome<{ readonly upperControlLimit: number }> {
  requireDesign(design);
  const { averageRunLength } = design;
  requireBetween(averageRunLength, 2, 1e6, 'design.averageRunLength');
  const excess = (logLimit: number) => {
    const reached = runLength(design, Math.exp(logLimit));
    return Math.log(Math.min(reached, longest) / averageRunLength);
  };
  // Without memory (λ = 1) the limit is this quantile; memory only lowers it.
  const highest = Math.log(chiSquareQuantile(1 - 1 / averageRunLength, design.characteristics));
  const limit = monotoneRoot(excess, highest - 0.5, highest);
  if (limit === null)
    return {
      available: false,
      reason: 'not-reachable',
      message: 'No limit gives this average run length. Ask for a longer one.',
    };
  return { available: true, upperControlLimit: Math.exp(limit) };
}

const smallestLimit = 1e-6;
const largestLimit = 200;
const longest = 1e12;

function requireDesign({ characteristics, smoothing }: MewmaDesign): void {
  requireWhole(characteristics, 1, 100, 'design.characteristics');
  requireBetween(smoothing, 0.01, 1, 'design.smoothing');
}

/** Average run length from a start at the target. */
function runLength({ characteristics: p, smoothing }: MewmaDesign, limit: number): number {
  if (smoothing === 1) return 1 / chiSquareUpperTail(limit, p);
  const reach = Math.sqrt((limit * smoothing) / (2 - smoothing));
  // One step of the average is λ wide; the nodes must be closer than that.
  const { nodes, weights } = gaussLegendreRule(
    Math.min(150, 20 + Math.ceil((2.5 * reach) / smoothing)),
    0,
    reach,
  );
  const density = (from: number, to: number) =>
    noncentralChiDensity(to / smoothing, p, ((1 - smoothing) * from) / smoothing) / smoothing;
  const matrix = nodes.map((from, i) =>
    nodes.map((to, j) => (i === j ? 1 : 0) - weights[j]! * density(from, to)),
  );
  const lengths = solveLinear(
    matrix,
    nodes.map(() => [1]),
  );
  if (lengths === null) return Infinity;
  const fromTarget =
    1 + nodes.reduce((sum, to, j) => sum + weights[j]! * density(0, to) * lengths[j]![0]!, 0);
  // Rounding takes the matrix past singular where a false alarm practically never comes.
  return fromTarget >= 1 ? fromTarget : Infinity;
}

/**
 * Density of the length of a normal vector of p independent components with variance 1 whose mean has length `away`:
 * a Poisson mixture of chi densities, summed from its largest term both ways.
 */
function noncentralChiDensity(length: number, p: number, away: number): number {
  const half = (length * length) / 2;
  const mean = (away * away) / 2;
  const product = half * mean;
  const peak = Math.max(0, Math.floor((Math.sqrt((p / 2 - 1) ** 2 + 4 * product) - p / 2 - 1) / 2));
  const shape = p / 2 + peak;
  const largest = Math.exp(
    (peak === 0 ? 0 : peak * Math.log(mean) - logGamma(peak + 1)) -
      mean +
      (shape - 1) * Math.log(half) -
      half -
      logGamma(shape),
  );
  let sum = 1;
  for (let k = peak, term = 1; term > 1e-17; k++) {
    term *= product / ((k + 1) * (p / 2 + k));
    sum += term;
  }
  for (let k = peak, term = 1; k > 0 && term > 1e-17; k--) {
    term *= (k * (p / 2 + k - 1)) / product;
    sum += term;
  }
  // Density of the half square, times d(half)/d(length).
  return largest * sum * length;
}
