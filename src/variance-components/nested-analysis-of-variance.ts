import type { Outcome, Unavailable } from '../errors.ts';
import { fUpperTail } from '../numerics/f-distribution.ts';
import { type NestedLevels, type NestedReadings, nestedCells, percentOf } from './nested-readings.ts';

/** Analysis of variance of pieces within hours within coils; variances in the square of the unit of the readings. */
export interface NestedAnalysisOfVariance {
  readonly method: 'nested analysis of variance';
  readonly mean: number;
  readonly coils: number;
  readonly hoursPerCoil: number;
  readonly piecesPerHour: number;
  readonly sumsOfSquares: NestedLevels;
  readonly degreesOfFreedom: NestedLevels;
  readonly meanSquares: NestedLevels;
  /** As the mean squares give them; may be negative where a component is small. */
  readonly rawComponents: NestedLevels;
  /** Negative estimates set to 0. */
  readonly components: NestedLevels;
  /** 100 · component / sum of the components. */
  readonly percent: NestedLevels;
  /** Mean square of a level over that of the level inside it; null where the latter is 0. */
  readonly fRatio: { readonly coil: number | null; readonly hour: number | null };
  /** Probability of an F ratio at least as large where the level adds no variation. */
  readonly pValue: { readonly coil: number | null; readonly hour: number | null };
}

/**
 * Which part of the variation is coil, which hour, which piece: nested analysis of variance of balanced data,
 * y = mean + coil + hour in the coil + piece in the hour, all random and normal.
 *
 * @param coils  coils[coil][hour] = pieces, one unit. Balanced: at least 2 coils, each with the same number of hours
 *               (at least 2), each with the same number of pieces (at least 2).
 * @returns      the table, its components and their shares. Unavailable `too-few-values` where a level has fewer than
 *               2 members, `outside-method` for unbalanced data, `no-variation` where the pieces of an hour never differ.
 * @throws       StatisticsError `empty`, `not-finite` (names the reading), `out-of-range` (squares overflow).
 *
 * Source: Searle, Casella, McCulloch, Variance Components (1992), chapter 4; ISO/TS 21749, nested design.
 *
 * @example
 * nestedAnalysisOfVariance([[[2, 4], [5, 7]], [[8, 10], [8, 12]]]);
 * // available, meanSquares.coil 50, components.coil 11.25, fRatio.hour 1.42857…
 */
export function nestedAnalysisOfVariance(coils: NestedReadings): Outcome<NestedAnalysisOfVariance> {
  const { coils: cells, origin, scale } = nestedCells(coils);
  const hoursPerCoil = cells[0]!.length;
  const piecesPerHour = cells[0]![0]!.size;
  const balanced = cells.every(
    (hours) => hours.length === hoursPerCoil && hours.every(({ size }) => size === piecesPerHour),
  );
  if (!balanced)
    return {
      available: false,
      reason: 'outside-method',
      message:
        'Hours per coil or pieces per hour differ. Use the restricted likelihood, which allows for unbalanced data.',
    };
  if (cells.length < 2) return tooFew('coils');
  if (hoursPerCoil < 2) return tooFew('hours in each coil');
  if (piecesPerHour < 2) return tooFew('pieces in each hour');

  const coilMeans = cells.map((hours) => average(hours.map(({ mean }) => mean)));
  const mean = average(coilMeans);
  const squaresAbout = (values: readonly number[], center: number) =>
    values.reduce((sum, value) => sum + (value - center) ** 2, 0);
  const scaled: NestedLevels = {
    coil: hoursPerCoil * piecesPerHour * squaresAbout(coilMeans, mean),
    hour: cells.reduce(
      (sum, hours, coil) =>
        sum +
        piecesPerHour *
          squaresAbout(
            hours.map((cell) => cell.mean),
            coilMeans[coil]!,
          ),
      0,
    ),
    piece: cells.flat().reduce((sum, { squares }) => sum + squares, 0),
  };
  if (scaled.piece === 0)
    return {
      available: false,
      reason: 'no-variation',
      message: 'The pieces of an hour never differ. Check that the gauge resolves them.',
    };

  const unit = scale * scale;
  const sumsOfSquares = eachLevel((level) => scaled[level] * unit);
  const degreesOfFreedom: NestedLevels = {
    coil: cells.length - 1,
    hour: cells.length * (hoursPerCoil - 1),
    piece: cells.length * hoursPerCoil * (piecesPerHour - 1),
  };
  const meanSquares = eachLevel((level) => sumsOfSquares[level] / degreesOfFreedom[level]);
  const rawComponents: NestedLevels = {
    coil: (meanSquares.coil - meanSquares.hour) / (hoursPerCoil * piecesPerHour),
    hour: (meanSquares.hour - meanSquares.piece) / piecesPerHour,
    piece: meanSquares.piece,
  };
  const components = eachLevel((level) => Math.max(0, rawComponents[level]));
  const coilRatio = meanSquares.hour === 0 ? null : meanSquares.coil / meanSquares.hour;
  const hourRatio = meanSquares.hour / meanSquares.piece;
  return {
    available: true,
    method: 'nested analysis of variance',
    mean: origin + scale * mean,
    coils: cells.length,
    hoursPerCoil,
    piecesPerHour,
    sumsOfSquares,
    degreesOfFreedom,
    meanSquares,
    rawComponents,
    components,
    percent: percentOf(components),
    fRatio: { coil: coilRatio, hour: hourRatio },
    pValue: {
      coil: coilRatio === null ? null : fUpperTail(coilRatio, degreesOfFreedom.coil, degreesOfFreedom.hour),
      hour: fUpperTail(hourRatio, degreesOfFreedom.hour, degreesOfFreedom.piece),
    },
  };
}

function eachLevel(of: (level: keyof NestedLevels) => number): NestedLevels {
  return { coil: of('coil'), hour: of('hour'), piece: of('piece') };
}

function average(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function tooFew(what: string): Unavailable {
  return {
    available: false,
    reason: 'too-few-values',
    message: `The variation of each level shows only where it has at least 2 members. Measure at least 2 ${what}.`,
  };
}
