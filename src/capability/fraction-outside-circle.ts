import { requireFinite, requirePositive } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { normalUpperTail } from '../numerics/normal.ts';
import { gaussLegendreRule } from '../numerics/quadrature.ts';

/** A bivariate normal distribution of positions; lengths in one unit, seen from the centre of the tolerance zone. */
export interface PositionDistribution {
  readonly meanX: number;
  readonly meanY: number;
  /** Both > 0. */
  readonly varianceX: number;
  readonly varianceY: number;
  /** Of x and y; with correlation strictly between −1 and 1. */
  readonly covariance: number;
}

/** The same distribution along its principal axes, lengths in radii of the circle. */
export interface PrincipalAxes {
  readonly largerDeviation: number;
  readonly smallerDeviation: number;
  /** Mean along the axis of the larger and of the smaller deviation. */
  readonly meanLarger: number;
  readonly meanSmaller: number;
  /** Angle of the axis of the larger deviation against x, in radians, −π/2 … π/2. */
  readonly angle: number;
}

/**
 * Fraction of positions outside a circular tolerance zone, by exact integration of the bivariate normal distribution.
 *
 * Along one principal axis the density is integrated numerically, along the other the two tails outside the circle are
 * normal tails in closed form. Every part of the sum is positive, so that small fractions keep their digits too:
 * relative error below 1e-9 down to 1e-300.
 *
 * @param distribution  mean and covariance in one unit, the centre of the zone being the origin.
 * @param radius        half the diameter of the tolerance zone, same unit, > 0.
 * @returns             0 … 1; Unavailable `singular-covariance` where the positions lie on one line.
 * @throws              StatisticsError `not-finite`, `out-of-range`, naming the field.
 *
 * Source: ISO 22514-6 (position in a circular tolerance zone); the integral by adaptive Gauss-Legendre quadrature,
 * checked against Imhof's formula, Biometrika 48 (1961) 419-426.
 *
 * @example
 * fractionOutsideCircle({ meanX: 0.05, meanY: 0, varianceX: 0.0036, varianceY: 0.0025, covariance: 0 }, 0.2);
 * // available, fraction 0.0096…
 */
export function fractionOutsideCircle(
  distribution: PositionDistribution,
  radius: number,
): Outcome<{ readonly fraction: number }> {
  for (const name of ['meanX', 'meanY', 'covariance'] as const)
    requireFinite(distribution[name], `distribution.${name}`);
  requirePositive(distribution.varianceX, 'distribution.varianceX');
  requirePositive(distribution.varianceY, 'distribution.varianceY');
  requirePositive(radius, 'radius');
  const axes = principalAxes(distribution, radius);
  if (axes === 'singular')
    return {
      available: false,
      reason: 'singular-covariance',
      message: 'The positions lie on one line, or nearly so. Judge the coordinate along that line alone.',
    };
  return { available: true, fraction: outside(axes, 1e-11) };
}

/** Principal axes in radii of the circle; 'singular' where one deviation is nothing against the other. */
export function principalAxes(
  { meanX, meanY, varianceX, varianceY, covariance }: PositionDistribution,
  radius: number,
): PrincipalAxes | 'singular' {
  const a = varianceX / radius / radius;
  const c = varianceY / radius / radius;
  const b = covariance / radius / radius;
  const [x, y] = [meanX / radius, meanY / radius];
  const size = Math.abs(a) + Math.abs(b) + Math.abs(c) + x * x + y * y;
  if (!(size < 1e100) || a + c < 1e-100)
    throw new StatisticsError(
      'out-of-range',
      'distribution',
      { meanX, meanY, varianceX, varianceY, covariance },
      'The positions and the tolerance zone differ too much in size.',
    );
  const larger = (a + c) / 2 + Math.hypot((a - c) / 2, b);
  const smaller = (a * c - b * b) / larger;
  if (!(smaller > 1e-12 * larger)) return 'singular';
  const angle = Math.atan2(2 * b, a - c) / 2;
  const [cosine, sine] = [Math.cos(angle), Math.sin(angle)];
  return {
    largerDeviation: Math.sqrt(larger),
    smallerDeviation: Math.sqrt(smaller),
    meanLarger: x * cosine + y * sine,
    meanSmaller: y * cosine - x * sine,
    angle,
  };
}

const panelRule = gaussLegendreRule(12, 0, 1);
const marks = [-12, -6, -3, -1, 0, 1, 3, 6, 12];
const mostPanels = 2000;

/** P(outside the unit circle), relative error about `tolerance`. */
export function outside(axes: PrincipalAxes, tolerance: number): number {
  const { largerDeviation: u, smallerDeviation: v, meanLarger: mu, meanSmaller: mv } = axes;
  // x = sin θ along the axis of the larger deviation; the circle then reaches to ±cos θ on the other axis.
  const density = (theta: number) => {
    const half = Math.cos(theta);
    const z = (Math.sin(theta) - mu) / u;
    const tails = normalUpperTail((half - mv) / v) + normalUpperTail((half + mv) / v);
    return (Math.exp((-z * z) / 2) / (u * Math.sqrt(2 * Math.PI))) * half * tails;
  };
  const panel = (from: number, to: number) => {
    let sum = 0;
    for (let k = 0; k < 12; k++)
      sum += panelRule.weights[k]! * density(from + (to - from) * panelRule.nodes[k]!);
    return sum * (to - from);
  };
  const ends = [-Math.PI / 2, 0, Math.PI / 2];
  for (const mark of marks) {
    const along = mu + mark * u;
    if (Math.abs(along) < 1) ends.push(Math.asin(along));
    const across = Math.abs(mv) + mark * v;
    if (across > 0 && across < 1) ends.push(Math.acos(across), -Math.acos(across));
  }
  ends.sort((p, q) => p - q);
  const beyond = normalUpperTail((1 - mu) / u) + normalUpperTail((1 + mu) / u);
  const open: [number, number, number][] = [];
  let rough = beyond;
  for (let k = 1; k < ends.length; k++) {
    if (ends[k]! - ends[k - 1]! < 1e-15) continue;
    const value = panel(ends[k - 1]!, ends[k]!);
    rough += value;
    open.push([ends[k - 1]!, ends[k]!, value]);
  }
  let sum = beyond;
  for (let count = 0; open.length > 0; count++) {
    const [from, to, value] = open.pop()!;
    const middle = (from + to) / 2;
    const left = panel(from, middle);
    const right = panel(middle, to);
    const better = left + right;
    rough += better - value;
    if (Math.abs(better - value) <= tolerance * rough || count > mostPanels) sum += better;
    else open.push([from, middle, left], [middle, to, right]);
  }
  return Math.min(1, sum);
}
