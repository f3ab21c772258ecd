import type { Outcome } from '../errors.ts';
import { type FreeRatios, maximiseRestrictedLikelihood } from './maximise-restricted-likelihood.ts';
import {
  type NestedCells,
  type NestedLevels,
  type NestedReadings,
  nestedCells,
  percentOf,
} from './nested-readings.ts';

/** Variance components by restricted maximum likelihood; variances in the square of the unit of the readings. */
export interface NestedLikelihoodComponents {
  readonly method: 'restricted maximum likelihood';
  /** Generalised least-squares mean: coils with few readings weigh less, but not in proportion. */
  readonly mean: number;
  readonly meanStandardError: number;
  readonly coils: number;
  readonly hours: number;
  readonly readings: number;
  /** A component on the edge of what is possible is exactly 0. */
  readonly components: NestedLevels;
  /** 100 · component / sum of the components. */
  readonly percent: NestedLevels;
  /** −½[(N − 1) ln 2π + ln|V| + ln(1'V⁻¹1) + (y − mean)'V⁻¹(y − mean)] at its largest. */
  readonly restrictedLogLikelihood: number;
}

/**
 * Variance components of pieces within hours within coils where the numbers of hours and pieces may differ:
 * y = mean + coil + hour in the coil + piece in the hour, all random and normal, by restricted maximum likelihood over
 * non-negative variances. On balanced data with positive estimates it equals the analysis of variance.
 *
 * @param coils  coils[coil][hour] = pieces, one unit, null for a missing reading; coils and hours without a reading are
 *               left out. Needs 2 coils, a coil with 2 hours and an hour with 2 pieces.
 * @returns      components, their shares, mean. Unavailable `too-few-values` where a level never has two members,
 *               `no-variation` where the pieces of an hour never differ (the likelihood then has no bound), `no-maximum`
 *               where the search does not settle. Relative error of a component about 1e-8.
 * @throws       StatisticsError `empty`, `not-finite` (names the reading), `out-of-range` (squares overflow).
 *
 * Source: Searle, Casella, McCulloch, Variance Components (1992), chapter 6; Patterson and Thompson, Biometrika 58(3),
 * 1971.
 *
 * @example
 * nestedLikelihoodComponents([[[2, 4], [5, 7]], [[8, 10], [8, 12]]]);
 * // available, mean 7, meanStandardError 2.49999…, restrictedLogLikelihood -17.04326…
 */
export function nestedLikelihoodComponents(coils: NestedReadings): Outcome<NestedLikelihoodComponents> {
  const cells = nestedCells(coils);
  const fit = fitNested(cells);
  if (!fit.available) return fit;
  const { components, deviance: _, ...result } = fit;
  return {
    ...result,
    method: 'restricted maximum likelihood',
    coils: cells.coils.length,
    hours: cells.hours,
    readings: cells.readings,
    components,
    percent: percentOf(components),
  };
}

export const allFaces: readonly FreeRatios[] = [
  [false, false],
  [false, true],
  [true, false],
  [true, true],
];

interface NestedFit {
  readonly mean: number;
  readonly meanStandardError: number;
  readonly components: NestedLevels;
  readonly restrictedLogLikelihood: number;
  /** −2 × restricted log-likelihood up to a constant that all fits to the same readings share. */
  readonly deviance: number;
}

/** The best fit over the faces given (which components are free). */
export function fitNested(cells: NestedCells, faces: readonly FreeRatios[] = allFaces): Outcome<NestedFit> {
  const { coils, hours, readings, origin, scale } = cells;
  const missing =
    coils.length < 2
      ? 'two coils'
      : hours === coils.length
        ? 'a coil with two hours'
        : readings === hours
          ? 'an hour with two pieces'
          : null;
  if (missing !== null)
    return {
      available: false,
      reason: 'too-few-values',
      message: `Coil, hour and piece cannot be told apart without ${missing}. Measure more.`,
    };
  if (coils.every((one) => one.every(({ squares }) => squares === 0)))
    return {
      available: false,
      reason: 'no-variation',
      message: 'The pieces of an hour never differ. Check that the gauge resolves them.',
    };
  const best = maximiseRestrictedLikelihood(coils, readings, faces);
  if (best === null)
    return {
      available: false,
      reason: 'no-maximum',
      message:
        'The pieces of an hour hardly differ against hours and coils, so their share cannot be found. Check that the gauge resolves them.',
    };
  const { ratios, point } = best;
  const freedom = readings - 1;
  const { pieceVariance } = point;
  const unit = scale * scale;
  return {
    available: true,
    mean: origin + scale * point.mean,
    meanStandardError: scale * Math.sqrt(pieceVariance / point.precision),
    components: {
      coil: ratios[0] * pieceVariance * unit,
      hour: ratios[1] * pieceVariance * unit,
      piece: pieceVariance * unit,
    },
    restrictedLogLikelihood:
      -(
        freedom * (Math.log(2 * Math.PI) + 1 + Math.log(pieceVariance)) +
        point.logDeterminant +
        Math.log(point.precision)
      ) /
        2 -
      freedom * Math.log(scale),
    deviance: point.deviance,
  };
}
