import { requireFinite, requirePositive } from '../checks.ts';
import { andersonDarling } from '../distribution-fit/anderson-darling.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { chiSquareQuantile } from '../numerics/chi-square.ts';
import { fUpperTail } from '../numerics/f-distribution.ts';
import { normalQuantile, normalUpperTail } from '../numerics/normal.ts';
import { type RandomSource, randomSource } from '../numerics/random.ts';
import { randomGamma } from '../numerics/random-gamma.ts';
import type { BoundedIndex } from './bounded-index.ts';
import { correctedPlace } from './corrected-place.ts';
import {
  outside,
  type PositionDistribution,
  type PrincipalAxes,
  principalAxes,
} from './fraction-outside-circle.ts';
import {
  checkedVerdict,
  type IndexVerdict,
  indexVerdict,
  type VerdictOptions,
  type VerdictWords,
} from './index-verdict.ts';
import { checkedResampling, drawnInterval, type ResamplingOptions } from './resampling.ts';

/** Where one hole was found, seen from where the drawing wants it; lengths in the unit of the tolerance. */
export interface Position {
  readonly x: number;
  readonly y: number;
}

export interface PositionPerformanceOptions extends ResamplingOptions, VerdictOptions {
  /** Diameter of the tolerance zone, as ⌀0.4 on the drawing. > 0. */
  readonly toleranceDiameter: number;
}

/** What is left of the positions if they scatter alike in all directions about the middle of the zone. */
export interface RayleighPosition {
  /** Of each coordinate, √(Σr²/2n). */
  readonly standardDeviation: number;
  readonly fractionOutside: number;
  /** Exact bounds by chi-square with 2n degrees of freedom. */
  readonly index: BoundedIndex;
  /** Chance of an offset at least this large if there is none (Hotelling). */
  readonly offsetPValue: number;
  /** Chance of axes at least this unequal if the scatter is the same in all directions (Mauchly, exact). */
  readonly roundnessPValue: number;
}

export interface PositionPerformance {
  readonly sampleSize: number;
  readonly distribution: PositionDistribution;
  /** Distance of the mean position from the middle of the zone. */
  readonly offset: number;
  readonly largerStandardDeviation: number;
  readonly smallerStandardDeviation: number;
  /** Direction of the larger one against x, in degrees, −90 … 90. */
  readonly direction: number;
  readonly fractionOutside: { readonly estimate: number; readonly upperBound: number };
  /** From the fraction inside the zone: Φ⁻¹((1 + inside)/2)/3, so that 1 stands for 99.73 %. */
  readonly index: BoundedIndex;
  /** From the largest ellipse of equal density that fits into the zone, in the same way: never above `index`. */
  readonly ellipseIndex: BoundedIndex;
  readonly rayleigh: RayleighPosition;
  readonly observedOutside: number;
  readonly resamples: number;
  readonly seed: number;
  readonly message: string;
  readonly verdict: IndexVerdict;
}

/**
 * Performance of a position: holes measured in x and y against a circular tolerance zone.
 *
 * The positions count as bivariate normal. The fraction outside the zone is integrated exactly; the index is the one of
 * a normal characteristic with the same fraction. An index above 12.3 is given as 12.3. Bounds: bootstrap
 * from the fitted distribution, corrected for bias; about 0.3 s at 1000 resamples. Simulated coverage of the lower bound
 * is 0.93 to 0.96 for 20 to 100 positions.
 *
 * @param positions  n ≥ 10 of one hole of different parts, in time order. Different holes are different streams: see
 *                   patternPerformance.
 * @returns          Unavailable `too-few-values`, `no-variation`, `singular-covariance`.
 * @throws           StatisticsError `not-finite`, `out-of-range`, naming the field.
 *
 * Source: ISO 22514-6 (index from the fraction and from the contour; cited from memory); bounds: Efron, Journal of the
 * American Statistical Association 82 (1987) 171-185; their coverage: tests/src/capability/position-performance.test.ts.
 *
 * @example
 * const positions = Array.from({ length: 40 }, (_, i) => (
 *   { x: 0.02 + 0.05 * Math.sin(i * 1.7), y: 0.04 * Math.cos(i * 2.9) }));
 * positionPerformance(positions, { toleranceDiameter: 0.4 });
 * // available, sampleSize 40, index.estimate 1.6959…, rayleigh.index.exact true
 */
export function positionPerformance(
  positions: readonly Position[],
  options: PositionPerformanceOptions,
): Outcome<PositionPerformance> {
  const { toleranceDiameter } = options;
  positions.forEach(({ x, y }, place) => {
    requireFinite(x, `positions.${place}.x`);
    requireFinite(y, `positions.${place}.y`);
  });
  requirePositive(toleranceDiameter, 'options.toleranceDiameter');
  const radius = toleranceDiameter / 2;
  const { confidence, resamples, seed } = checkedResampling(options, 1000);
  const { requiredIndex, doubts } = checkedVerdict(options);
  const n = positions.length;
  if (n < 10)
    return {
      available: false,
      reason: 'too-few-values',
      message: `A position needs at least 10 parts; there ${n === 1 ? 'is 1' : `are ${n}`}.`,
    };
  const scaled = positions.map(({ x, y }) => ({ x: x / radius, y: y / radius }));
  const far = scaled.findIndex(({ x, y }) => !(Math.hypot(x, y) < 1e12));
  if (radius < 1e-100 || radius > 1e100 || far >= 0)
    throw new StatisticsError(
      'out-of-range',
      `positions.${Math.max(0, far)}`,
      positions[Math.max(0, far)],
      'The positions and the tolerance zone differ too much in size.',
    );
  const unit = momentsOf(scaled);
  if (unit.varianceX + unit.varianceY < 1e-26 * (1 + unit.meanX ** 2 + unit.meanY ** 2))
    return {
      available: false,
      reason: 'no-variation',
      message:
        'All positions are equal, so an index would have no meaning. Check that the gauge resolves them.',
    };
  const axes = principalAxes(unit, 1);
  if (axes === 'singular')
    return {
      available: false,
      reason: 'singular-covariance',
      message: 'The positions lie on one line, or nearly so. Judge the coordinate along that line alone.',
    };

  const random = randomSource(seed);
  const indices = new Float64Array(resamples);
  const ellipses = new Float64Array(resamples);
  for (let resample = 0; resample < resamples; resample++) {
    const drawn = principalAxes(drawnDistribution(unit, n, random), 1);
    // A covariance this narrow is as good as a line; the axes of the estimate stand in for it.
    const one = drawn === 'singular' ? axes : drawn;
    indices[resample] = indexOf(outside(one, 1e-6));
    ellipses[resample] = indexOf(outsideEllipse(one));
  }
  const bounded = (estimate: number, draws: Float64Array): BoundedIndex => ({
    estimate,
    sampleSize: n,
    method: 'bias-corrected bootstrap',
    ...drawnInterval(draws, confidence, correctedPlace(draws.sort(), estimate, 0)),
    exact: false,
  });
  const fraction = outside(axes, 1e-11);
  const index = bounded(indexOf(fraction), indices);
  const observedOutside = scaled.filter(({ x, y }) => Math.hypot(x, y) > 1).length;
  const shape = [positions.map(({ x }) => x), positions.map(({ y }) => y)].map(andersonDarling);
  if (n < 30)
    doubts.push({ reason: 'too-few', sentence: `There are ${n} positions; below 30 no index is quoted.` });
  if (shape.some((test) => test.available && test.pValue < 0.005))
    doubts.push({
      reason: 'not-normal',
      sentence:
        'At least one coordinate is not normally distributed, so the fraction outside is not the normal one.',
    });
  const offset = Math.hypot(unit.meanX, unit.meanY) * radius;
  return {
    available: true,
    sampleSize: n,
    distribution: momentsOf(positions),
    offset,
    largerStandardDeviation: axes.largerDeviation * radius,
    smallerStandardDeviation: axes.smallerDeviation * radius,
    direction: (axes.angle * 180) / Math.PI,
    fractionOutside: { estimate: fraction, upperBound: 2 * normalUpperTail(3 * index.lowerBound) },
    index,
    ellipseIndex: bounded(indexOf(outsideEllipse(axes)), ellipses),
    rayleigh: rayleighOf(scaled, unit, radius, confidence),
    observedOutside,
    resamples,
    seed,
    message: adviceOn(axes, offset, toleranceDiameter),
    verdict: indexVerdict('the position index', index, requiredIndex, doubts, ofPositions),
  };
}

function momentsOf(positions: readonly Position[]): PositionDistribution {
  const n = positions.length;
  const origin = positions[0]!;
  let [sumX, sumY] = [0, 0];
  for (const { x, y } of positions) {
    sumX += x - origin.x;
    sumY += y - origin.y;
  }
  const [meanX, meanY] = [origin.x + sumX / n, origin.y + sumY / n];
  let [xx, yy, xy] = [0, 0, 0];
  for (const { x, y } of positions) {
    xx += (x - meanX) ** 2;
    yy += (y - meanY) ** 2;
    xy += (x - meanX) * (y - meanY);
  }
  return {
    meanX,
    meanY,
    varianceX: xx / (n - 1),
    varianceY: yy / (n - 1),
    covariance: xy / (n - 1),
  };
}

/** Mean and covariance of n positions drawn from this distribution (Bartlett's factor of a Wishart matrix). */
function drawnDistribution(
  { meanX, meanY, varianceX, varianceY, covariance }: PositionDistribution,
  n: number,
  random: RandomSource,
): PositionDistribution {
  const l11 = Math.sqrt(varianceX);
  const l21 = covariance / l11;
  const l22 = Math.sqrt(varianceY - l21 * l21);
  const root = Math.sqrt(n - 1);
  const t11 = Math.sqrt(2 * randomGamma(random, (n - 1) / 2)) / root;
  const t22 = Math.sqrt(2 * randomGamma(random, (n - 2) / 2)) / root;
  const t21 = random.normal() / root;
  const [z1, z2] = [random.normal() / Math.sqrt(n), random.normal() / Math.sqrt(n)];
  const f11 = l11 * t11;
  const f21 = l21 * t11 + l22 * t21;
  return {
    meanX: meanX + l11 * z1,
    meanY: meanY + l21 * z1 + l22 * z2,
    varianceX: f11 * f11,
    varianceY: f21 * f21 + (l22 * t22) ** 2,
    covariance: f11 * f21,
  };
}

/** Index of a normal characteristic with this fraction outside its two limits. */
const indexOf = (fraction: number): number => -normalQuantile(Math.max(fraction, 1e-300) / 2) / 3 + 0;

/** Fraction outside the largest ellipse of equal density inside the unit circle; 1 where the mean lies outside. */
function outsideEllipse({
  largerDeviation: u,
  smallerDeviation: v,
  meanLarger: mu,
  meanSmaller: mv,
}: PrincipalAxes) {
  if (Math.hypot(mu, mv) >= 1) return 1;
  const square = (angle: number) => ((Math.cos(angle) - mu) / u) ** 2 + ((Math.sin(angle) - mv) / v) ** 2;
  // The squared distance is a trigonometric polynomial of degree 2: at most two minima, far apart on this grid.
  const steps = 90;
  let nearest = Infinity;
  for (let step = 0; step < steps; step++) {
    const at = (2 * Math.PI * step) / steps;
    const width = (2 * Math.PI) / steps;
    if (square(at) > square(at - width) || square(at) > square(at + width)) continue;
    let [low, high] = [at - width, at + width];
    for (let third = 0; third < 60; third++) {
      const [left, right] = [low + (high - low) / 3, high - (high - low) / 3];
      if (square(left) < square(right)) high = right;
      else low = left;
    }
    nearest = Math.min(nearest, square((low + high) / 2));
  }
  return Math.exp(-nearest / 2);
}

function rayleighOf(
  scaled: readonly Position[],
  { meanX, meanY, varianceX, varianceY, covariance }: PositionDistribution,
  radius: number,
  confidence: number,
): RayleighPosition {
  const n = scaled.length;
  const squares = scaled.reduce((sum, { x, y }) => sum + x * x + y * y, 0);
  const index = (variance: number) => indexOf(Math.exp(-1 / (2 * variance)));
  const bound = (p: number) => index(squares / chiSquareQuantile(p, 2 * n));
  const half = (1 - confidence) / 2;
  const determinant = varianceX * varianceY - covariance ** 2;
  const hotelling =
    (n * (varianceY * meanX ** 2 - 2 * covariance * meanX * meanY + varianceX * meanY ** 2)) / determinant;
  const variance = squares / (2 * n);
  return {
    standardDeviation: Math.sqrt(variance) * radius,
    fractionOutside: Math.exp(-1 / (2 * variance)),
    index: {
      estimate: index(variance),
      sampleSize: n,
      method: 'chi-square',
      confidence,
      lower: bound(half),
      upper: bound(1 - half),
      lowerBound: bound(1 - confidence),
      upperBound: bound(confidence),
      exact: true,
    },
    offsetPValue: fUpperTail(Math.max(0, ((n - 2) / (2 * (n - 1))) * hotelling), 2, n - 2),
    roundnessPValue: Math.min(1, ((4 * determinant) / (varianceX + varianceY) ** 2) ** ((n - 2) / 2)),
  };
}

const ofPositions: VerdictWords = {
  counted: 'positions',
  improve: 'move the mean position to the middle of the zone or reduce the scatter',
};

function adviceOn(axes: PrincipalAxes, offset: number, toleranceDiameter: number): string {
  const share = (100 * offset) / (toleranceDiameter / 2);
  if (offset / (toleranceDiameter / 2) > axes.largerDeviation)
    return `The mean position lies ${share.toFixed(0)} % of the way to the edge of the zone: move the tool first, that costs no spread.`;
  if (axes.largerDeviation > 1.5 * axes.smallerDeviation)
    return 'The positions scatter mainly in one direction: look for play or a stop along it.';
  return 'The positions scatter about the middle of the zone: only less spread brings more inside.';
}
