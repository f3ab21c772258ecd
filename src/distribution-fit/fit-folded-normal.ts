import { newtonRoot } from '../numerics/newton-root.ts';
import { normalQuantile, normalUpperTail } from '../numerics/normal.ts';
import { gaussLegendreRule } from '../numerics/quadrature.ts';
import { monotoneRoot } from '../numerics/root.ts';
import type { DistributionFamily } from './distribution-family.ts';
import { momentsOf, unitOf } from './moments-of.ts';

const rule = gaussLegendreRule(24, 0, 1);

/**
 * Likelihood equations mu = mean of x tanh(mu x / sigma²) and sigma² = mean of x² less mu². The unknown is the
 * distance of mu below the mean of the values, which keeps its digits where hardly anything is folded. There may be
 * several solutions: the one with the largest likelihood counts, the half-normal end mu = 0 among them.
 *
 * Source: F. C. Leone, L. S. Nelson and R. B. Nottingham, Technometrics 3(4), 1961 (cited from memory).
 */
export const foldedNormalFamily: DistributionFamily<'folded-normal'> = {
  title: 'a folded normal distribution',
  parameterCount: 2,
  fewestValues: 2,
  holds: 'zero-and-above',
  positive: ['sigma'],
  names: ['mu', 'sigma'],
  fit: (sorted) => {
    const unit = unitOf(sorted);
    const values = sorted.map((value) => value / unit);
    const { mean, rootMeanSquare } = momentsOf(values);
    const square = rootMeanSquare * rootMeanSquare;
    let best = { mu: 0, sigma: Math.hypot(rootMeanSquare, mean) };
    let largest = foldedLogLikelihood(values, best.mu, best.sigma);
    for (const distance of stationaryDistances(values, mean, square)) {
      const mu = mean - distance;
      const sigma = Math.sqrt(square + distance * (mean + mu));
      const logLikelihood = foldedLogLikelihood(values, mu, sigma);
      if (logLikelihood > largest) {
        largest = logLikelihood;
        best = { mu, sigma };
      }
    }
    return { mu: best.mu * unit, sigma: best.sigma * unit };
  },
  functions: ({ mu, sigma }) => {
    const folds = mu / sigma;
    const density = (t: number) => Math.exp((-t * t) / 2) / Math.sqrt(2 * Math.PI);
    const upperTail = (x: number) =>
      x <= 0 ? 1 : normalUpperTail((x - mu) / sigma) + normalUpperTail((x + mu) / sigma);
    const lowerTail = (x: number) => {
      if (x <= 0) return 0;
      const width = x / sigma;
      // Close to 0 the two normal tails nearly cancel: the integral between them instead.
      if (width > 1) return normalUpperTail(folds - width) - normalUpperTail(folds + width);
      let sum = 0;
      for (let k = 0; k < rule.nodes.length; k++) {
        const t = width * rule.nodes[k]!;
        sum += rule.weights[k]! * (density(t - folds) + density(t + folds));
      }
      return width * sum;
    };
    const logDensity = (x: number) => {
      const z = (x - mu) / sigma;
      return (
        Math.log1p(Math.exp((-2 * folds * x) / sigma)) -
        (z * z) / 2 -
        Math.log(sigma) -
        Math.log(2 * Math.PI) / 2
      );
    };
    return {
      logDensity,
      lowerTail,
      upperTail,
      // Where a tail underflows, its leading term is all that a sum of logarithms can notice.
      logLowerTail: (x) => {
        const tail = lowerTail(x);
        return tail > 0 ? Math.log(tail) : logDensity(x) + Math.log(Math.max(x, Number.MIN_VALUE));
      },
      logUpperTail: (x) => {
        const tail = upperTail(x);
        return tail > 0 ? Math.log(tail) : logDensity(x) + Math.log(sigma) - Math.log((x - mu) / sigma);
      },
      quantile: (probability) => {
        const widest = mu + sigma * Math.max(1, -normalQuantile((1 - probability) / 2));
        const root = monotoneRoot(
          probability <= 0.5
            ? (x) => lowerTail(x) / probability - 1
            : (x) => 1 - upperTail(x) / (1 - probability),
          0,
          widest,
        );
        return root ?? widest;
      },
      draw: (random) => Math.abs(mu + sigma * random.normal()),
    };
  },
};

function foldedLogLikelihood(values: Float64Array, mu: number, sigma: number): number {
  const fold = (-2 * mu) / (sigma * sigma);
  let sum = 0;
  for (let index = 0; index < values.length; index++) {
    const value = values[index]!;
    const z = (value - mu) / sigma;
    sum += Math.log1p(Math.exp(fold * value)) - (z * z) / 2;
  }
  return sum - values.length * Math.log(sigma);
}

/** Ratios mu/sigma at which the slope of the likelihood is looked at for changes of sign. */
const ratios = [0.1, 0.25, 0.5, 0.75, 1, 1.4, 2, 2.8, 4, 6, 9];

/**
 * Distances of mu below the mean at which the likelihood, sigma following, has a peak: where the distance goes from
 * less to more than the mean of 2x / (1 + exp(2 mu x / sigma²)).
 */
function stationaryDistances(values: Float64Array, mean: number, square: number): readonly number[] {
  const excess = (distance: number) => {
    const mu = mean - distance;
    const variance = square + distance * (mean + mu);
    const rate = (2 * mu) / variance;
    const rateSlope = (-2 - (2 * mu * 2 * mu) / variance) / variance;
    let sum = 0;
    let slope = 0;
    for (let index = 0; index < values.length; index++) {
      const value = values[index]!;
      const share = 1 / (1 + Math.exp(rate * value));
      sum += value * share;
      slope -= value * value * share * (1 - share);
    }
    return {
      value: distance - (2 * sum) / values.length,
      slope: 1 - (2 * slope * rateSlope) / values.length,
    };
  };
  const total = Math.hypot(mean, Math.sqrt(square));
  const places = [mean];
  for (const ratio of ratios) {
    const distance = mean - (total * ratio) / Math.hypot(1, ratio);
    if (distance > 0 && distance < places.at(-1)!) places.push(distance);
  }
  places.push(0);
  const signs = places.map((place) => (place === mean ? 0 : Math.sign(excess(place).value)));
  // At mu = 0 itself the slope vanishes; just above it has the sign of 3 (mean of x²)² − mean of x⁴.
  let fourth = 0;
  for (let index = 0; index < values.length; index++) fourth += values[index]! ** 4;
  signs[0] = Math.sign(3 * total ** 4 - fourth / values.length);
  const found: number[] = [];
  for (let index = 0; index + 1 < places.length; index++) {
    if (!(signs[index]! > 0 && signs[index + 1]! <= 0)) continue;
    const low = places[index + 1]!;
    const high = places[index]!;
    const start = index === 0 ? low : (low + high) / 2;
    const root = newtonRoot(excess, start, (high - low) / 2);
    if (root !== null && root >= 0 && root < mean) found.push(root);
  }
  return found;
}
