import { requireFiniteValues, requireFraction, requireName } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { betaQuantile } from '../numerics/beta.ts';
import { normalQuantile } from '../numerics/normal.ts';
import { functionsOf } from './families.ts';
import type { Distribution } from './fitted-distribution.ts';

export type PlottingPosition = 'hazen' | 'blom' | 'median-rank';

const plottingPositions: Readonly<Record<PlottingPosition, (rank: number, n: number) => number>> = {
  hazen: (rank, n) => (rank - 0.5) / n,
  blom: (rank, n) => (rank - 0.375) / (n + 0.25),
  'median-rank': (rank, n) => betaQuantile(0.5, rank, n - rank + 1),
};

export interface ProbabilityPlotOptions {
  /** The distribution to plot against: a fit, or one known beforehand. */
  readonly fitted: Distribution;
  /** 'hazen' (i − 0.5)/n, 'blom' (i − 3/8)/(n + 1/4), 'median-rank' the median of the i-th rank. Default 'hazen'. */
  readonly plottingPosition?: PlottingPosition;
  /** Of the band, for each point by itself. Default 0.95. */
  readonly confidence?: number;
}

export interface ProbabilityPlot {
  readonly sampleSize: number;
  readonly plottingPosition: PlottingPosition;
  readonly confidence: number;
  readonly points: readonly ProbabilityPlotPoint[];
  /** Points beyond their band. */
  readonly pointsOutside: number;
  readonly message: string;
}

/** One value; quantiles are in the unit of the values, null where the distribution has none. */
export interface ProbabilityPlotPoint {
  readonly value: number;
  /** Plotting position: the fraction of parts said to lie at or below the value. */
  readonly probability: number;
  /** Normal score of the position: the place on the axis of a normal probability paper. */
  readonly normalScore: number;
  /** Where a value of this rank belongs in the distribution. */
  readonly theoreticalQuantile: number | null;
  readonly lowerBound: number | null;
  readonly upperBound: number | null;
  readonly isOutside: boolean;
}

const mostValues = 10_000;

/**
 * Coordinates of a probability plot: each value against the place where a value of its rank belongs, with a band that
 * holds it with the confidence asked for. Points on a straight line mean that the shape fits; the ends show the tails.
 *
 * The band is that of order statistics, which is exact for a distribution known beforehand. For a fitted one it is a
 * little too wide, and it holds point by point: of 100 points about 5 lie outside a 95 % band by chance.
 *
 * @param values   1 to 10 000 finite numbers in one unit.
 * @param options  distribution, plotting position, confidence.
 * @returns        points in ascending order of the values.
 * @throws         StatisticsError `empty`, `not-finite`, `unknown-name`, `out-of-range`, naming the field.
 *
 * Source: A. Hazen, 1914, and G. Blom, Statistical Estimates and Transformed Beta-Variables, 1958, for the positions
 * (cited from memory); H. A. David and H. N. Nagaraja, Order Statistics, 3rd edition, section 2.1: the probability of
 * the i-th of n values has a beta distribution with parameters i and n − i + 1.
 *
 * @example
 * probabilityPlot([0.12, 0.31, 0.25], { fitted: { distribution: 'rayleigh', parameters: { sigma: 0.2 } } });
 * // points[0].probability 0.1666…, points[0].theoreticalQuantile 0.1207…, pointsOutside 0
 */
export function probabilityPlot(
  values: ArrayLike<number>,
  { fitted, plottingPosition = 'hazen', confidence = 0.95 }: ProbabilityPlotOptions,
): ProbabilityPlot {
  requireFiniteValues(values, 'values');
  const n = values.length;
  if (n > mostValues)
    throw new StatisticsError(
      'out-of-range',
      'values',
      n,
      `At most ${mostValues} values can be plotted. Give every k-th of the ordered values, the outermost among them.`,
    );
  requireName(
    plottingPosition,
    Object.keys(plottingPositions) as PlottingPosition[],
    'options.plottingPosition',
  );
  requireFraction(confidence, 'options.confidence');
  const functions = functionsOf(fitted, 'options.fitted');
  const quantile = (probability: number) => {
    if (!(probability > 0 && probability < 1)) return null;
    const x = functions.quantile(probability);
    return Number.isFinite(x) ? x : null;
  };
  const sorted = Float64Array.from(values).sort();
  const points = Array.from(sorted, (value, index): ProbabilityPlotPoint => {
    const rank = index + 1;
    const probability = plottingPositions[plottingPosition](rank, n);
    const lowerBound = quantile(betaQuantile((1 - confidence) / 2, rank, n - index));
    const upperBound = quantile(betaQuantile((1 + confidence) / 2, rank, n - index));
    return {
      value,
      probability,
      normalScore: normalQuantile(probability),
      theoreticalQuantile: quantile(probability),
      lowerBound,
      upperBound,
      isOutside: (lowerBound !== null && value < lowerBound) || (upperBound !== null && value > upperBound),
    };
  });
  const pointsOutside = points.filter((point) => point.isOutside).length;
  const byChance = (n * (1 - confidence)).toPrecision(2);
  return {
    sampleSize: n,
    plottingPosition,
    confidence,
    points,
    pointsOutside,
    message: `${pointsOutside} of ${n} points lie outside the band, where chance alone would put about ${byChance}. Points beside each other move together: look at the ends, where the tails show, and at bends, which say that the shape is wrong.`,
  };
}
