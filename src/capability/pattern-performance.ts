import { type Outcome, StatisticsError, type Unavailable } from '../errors.ts';
import {
  type Position,
  type PositionPerformance,
  type PositionPerformanceOptions,
  positionPerformance,
} from './position-performance.ts';

/** One hole of a pattern over many parts. */
export interface Hole {
  readonly name: string;
  /** One entry a part, in the same order of parts for every hole. */
  readonly positions: readonly Position[];
}

export interface PatternPerformance {
  /** Parts measured. */
  readonly sampleSize: number;
  readonly holes: readonly { readonly name: string; readonly performance: PositionPerformance }[];
  /** Hole with the smallest lower confidence bound; its bound also holds for the truly worst hole. */
  readonly worst: string;
  readonly worstLowerBound: number;
  /** Parts with at least one hole outside. */
  readonly observedPartsOutside: number;
  /** Expected fraction of such parts: between the worst hole alone and the sum of all. */
  readonly fractionOutside: { readonly atLeast: number; readonly atMost: number };
  readonly message: string;
}

/**
 * Performance of a bolt pattern: every hole by itself, the worst by name, and what the parts have to expect. Holes are
 * never pooled, for each has its own punch and its own offset.
 *
 * @param holes  1 … 100 holes with as many positions each.
 * @returns      Unavailable as from positionPerformance, naming the hole.
 * @throws       StatisticsError `empty`, `sizes-differ`, `not-finite`, `out-of-range`, naming the field.
 *
 * Source: ISO 22514-6 for one hole, ISO 22514-8 for streams that are kept apart; bounds of the fraction: Boole.
 *
 * @example
 * const near = (offset) => Array.from({ length: 30 }, (_, i) => (
 *   { x: offset + 0.05 * Math.sin(i * 1.7), y: 0.04 * Math.cos(i * 2.9) }));
 * const holes = [{ name: 'A', positions: near(0) }, { name: 'B', positions: near(0.05) }];
 * patternPerformance(holes, { toleranceDiameter: 0.4, resamples: 200 });
 * // available, worst "B", observedPartsOutside 0
 */
export function patternPerformance(
  holes: readonly Hole[],
  options: PositionPerformanceOptions,
): Outcome<PatternPerformance> {
  if (holes.length === 0) throw new StatisticsError('empty', 'holes', holes, 'At least one hole is needed.');
  if (holes.length > 100)
    throw new StatisticsError('out-of-range', 'holes', holes.length, 'At most 100 holes are judged at once.');
  const parts = holes[0]!.positions.length;
  const found: { name: string; performance: PositionPerformance }[] = [];
  for (let place = 0; place < holes.length; place++) {
    const { name, positions } = holes[place]!;
    if (positions.length !== parts)
      throw new StatisticsError(
        'sizes-differ',
        `holes.${place}.positions`,
        positions.length,
        `Every hole needs one position for each of the ${parts} parts.`,
      );
    const performance = ofHole(positions, options, place);
    if (!performance.available) return { ...performance, message: `Hole ${name}: ${performance.message}` };
    const { available: _, ...plain } = performance;
    found.push({ name, performance: plain });
  }
  const worst = found.reduce((a, b) =>
    b.performance.index.lowerBound < a.performance.index.lowerBound ? b : a,
  );
  const fractions = found.map(({ performance }) => performance.fractionOutside.estimate);
  const radius = options.toleranceDiameter / 2;
  let observedPartsOutside = 0;
  for (let part = 0; part < parts; part++)
    if (holes.some(({ positions }) => Math.hypot(positions[part]!.x, positions[part]!.y) > radius))
      observedPartsOutside++;
  return {
    available: true,
    sampleSize: parts,
    holes: found,
    worst: worst.name,
    worstLowerBound: worst.performance.index.lowerBound,
    observedPartsOutside,
    fractionOutside: {
      atLeast: Math.max(...fractions),
      atMost: Math.min(
        1,
        fractions.reduce((sum, fraction) => sum + fraction, 0),
      ),
    },
    message: `Hole ${worst.name} is the worst. ${worst.performance.verdict.sentence} ${worst.performance.message}`,
  };
}

function ofHole(
  positions: readonly Position[],
  options: PositionPerformanceOptions,
  place: number,
): (PositionPerformance & { readonly available: true }) | Unavailable {
  try {
    // Every hole draws its own numbers.
    return positionPerformance(positions, { ...options, seed: (options.seed ?? 1) + place });
  } catch (error) {
    if (error instanceof StatisticsError && error.argument.startsWith('positions'))
      throw new StatisticsError(
        error.code,
        `holes.${place}.${error.argument}`,
        error.value,
        error.message.slice(error.argument.length + 2),
      );
    throw error;
  }
}
